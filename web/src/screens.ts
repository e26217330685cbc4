// The screens, in the order of the navigation. Only finished ones stand here.
import type { FunctionComponent } from "preact";
import type { Place } from "./desk";
import type { Key } from "./words";
import { later } from "./later";
import { TextScreen } from "./text/screen";

// `assists`: also an assistant's.
export interface ScreenEntry { path: string; name: Key; Screen: FunctionComponent<{ place: Place }>; fetch?: () => void; assists?: boolean }
// The text comes with the first script, each other screen with one of its own.
const screens: ScreenEntry[] = [
  { path: "text", name: "text", Screen: TextScreen, assists: true },
  { path: "find", name: "find", ...later(() => import("./find/screen").then((made) => made.FindScreen)) },
  { path: "lessons", name: "lessons", ...later(() => import("./lesson/screen").then((made) => made.LessonsScreen)) },
  { path: "course", name: "course", ...later(() => import("./course/screen").then((made) => made.CourseScreen)) },
  { path: "takes", name: "takes", ...later(() => import("./takes/screen").then((made) => made.TakesScreen)) },
  { path: "hear", name: "hear", ...later(() => import("./hear/screen").then((made) => made.HearScreen)) },
  { path: "class", name: "class", ...later(() => import("./class/book").then((made) => made.BookScreen)), assists: true },
  { path: "listening", name: "listening", ...later(() => import("./listening/round").then((made) => made.RoundScreen)), assists: true },
  { path: "progress", name: "progress", ...later(() => import("./progress/progress").then((made) => made.ProgressScreen)), assists: true },
];
export const screensOf = (role: string | null) => role === "learner" ? [] : screens.filter((screen) => role !== "assistant" || screen.assists);
