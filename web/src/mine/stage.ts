// How much of the notation a learner sees: everything with its names, the marks, where but not what,
// how many, nothing. Which letters have a place comes from the reading.
import type { Reading, Rules } from "../api";
import { verseOf, type Given } from "./types";

export function staged(given: Given, reading: Reading | null, rules: Rules | null) {
  const wanted = new Set(given.rules.split(/[\s,]+/).filter(Boolean));
  const known = new Map(rules?.rules.map((rule) => [rule.rule, rule]));
  const taught = (rule: string) => wanted.size ? wanted.has(rule) : known.get(rule)?.on_sheet === true;
  const sites = reading?.sites.filter((site) => taught(site.rule)) ?? [];
  const marks = given.stage <= 1;
  const perVerse = new Map<string, number>();
  for (const site of sites) {
    const letter = reading!.letters[site.trigger]!, verse = verseOf(reading!.words[letter.word]!.verse);
    perVerse.set(verse, (perVerse.get(verse) ?? 0) + 1);
  }
  return {
    marks, shown: (rule: string) => marks && taught(rule),
    named: given.stage === 0 ? [...new Set(sites.map((site) => site.rule))].flatMap((rule) => known.get(rule) ?? []) : [],
    dots: given.stage === 2 ? [...new Set(sites.map((site) => site.trigger))] : [],
    numbers: given.stage === 3 ? [...perVerse] : [],
  };
}
