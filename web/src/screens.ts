// The screens, in the order of the navigation. Only finished ones stand here.
import type { FunctionComponent } from "preact";
import type { Place } from "./desk";
import type { Key } from "./words";
import { CourseScreen } from "./course/screen";
import { FindScreen } from "./find/screen";
import { HearScreen } from "./hear/screen";
import { LessonsScreen } from "./lesson/screen";
import { TakesScreen } from "./takes/screen";
import { TextScreen } from "./text/screen";

export interface ScreenEntry { path: string; name: Key; Screen: FunctionComponent<{ place: Place }> }
export const screens: ScreenEntry[] = [
  { path: "text", name: "text", Screen: TextScreen },
  { path: "find", name: "find", Screen: FindScreen },
  { path: "lessons", name: "lessons", Screen: LessonsScreen },
  { path: "course", name: "course", Screen: CourseScreen },
  { path: "takes", name: "takes", Screen: TakesScreen },
  { path: "hear", name: "hear", Screen: HearScreen },
];
