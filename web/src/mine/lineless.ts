// Without a line: whoever was here last is shown what is kept, and can go on recording.
import { get, type Query } from "../api";
import { remember, remembered } from "../desk";
import type { Given } from "./types";

const last = "mine-last";
export const lastHere = () => remembered(last) || null;
export const noteHere = (person: string | null) => remember(last, person ?? "");

export const readingOf = (given: Given, lang: string): [string, Query] => ["reading", { ...given.how, passage: given.passage, lang }];
export const inkOf = (given: Given): [string, Query] => ["ink", { passage: given.passage }];

// Have the page and the text of what is given out kept on this device.
export async function keepForLater(given: Given[], lang: string) {
  const workers = navigator.serviceWorker;
  if (!workers) return;
  try {
    await workers.register("/mine.js", { scope: "/mine" });
    const { active } = await workers.ready;
    for (const one of given) await Promise.all([get(...readingOf(one, lang)), get(...inkOf(one))]);
    active?.postMessage(["/mine", "/api/rules", ...performance.getEntriesByType("resource").map((entry) => entry.name)]);
  } catch { /* without it the page needs the line to open, and loses nothing */ }
}
