// What the desk says to a learner; docs/api.md.
import type { Query } from "../api";
import type { Mark } from "./kept";

export interface Consent { words: string; said_ms: number; withdrawn_ms: number; holds: boolean }
export interface Sent { id: string; state: string; made_ms: number; sent_ms: number }
export interface Given {
  id: string; title: string; passage: string; how: Query; attend: string; rules: string; stage: number; due_ms: number; take: number | boolean;
  withdrawn_ms: number; submissions: Sent[];
}
export interface Mine { person: { id: string; label: string; language: string }; class: { id: string; name: string }; consent: Consent; assignments: Given[] }
export interface Note { id: string; at: string | null; word: string | null; start_ms: number | null; end_ms: number | null; text: string; sound: boolean; made_ms: number }
export interface Place {
  site: number; rule: string | null; name: string | null; name_ar: string | null; at: string; word: string | null; start_ms: number; end_ms: number;
  measured_counts: number | null; counts_low: number | null; counts_high: number | null; expected_counts: number | null;
  sureness: number; trust: string; told: string; fault_name: string | null; fault_name_ar: string | null;
}
export interface Answer {
  id: string; assignment: string; title: string | null; passage: string; how: Query; state: string; made_ms: number; sent_ms: number; marks: Mark[];
  notes: Note[]; sites: Place[]; audio: boolean;
}
// All in the order of the text.
export interface Timing { at: string; start_ms: number; end_ms: number }

export const verseOf = (at: string) => at.split(":").slice(0, 2).join(":");
export const verseNumber = (verse: string) => verse.split(":")[1] ?? verse;
export const wordOf = (at: string) => at.split(":").slice(0, 3).join(":");
export const dateLang = (lang: string) => lang === "ar" ? "ar-u-nu-latn" : "en-GB";
