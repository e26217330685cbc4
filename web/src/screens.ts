// The screens, in the order of the navigation. Only finished ones stand here.
import type { FunctionComponent } from "preact";
import type { Place } from "./desk";
import type { Key } from "./words";
import { TextScreen } from "./text/screen";

export interface ScreenEntry { path: string; name: Key; Screen: FunctionComponent<{ place: Place }> }
export const screens: ScreenEntry[] = [
  { path: "text", name: "text", Screen: TextScreen },
];
