import type { Query } from "../api";
export interface Take {
  id: string; name: string; passage: string; title: string; made: string; how: Query; seconds: number | null; state: string;
  job: string | null; voice: string | null; keep_voice: boolean; note: string; chosen: boolean; problem: string | null; problem_ar: string | null; report: boolean; gone?: boolean;
}
export interface Uses { lessons: { id: string; title: string }[]; assignments: { id: string; class: string; title: string }[] }
export interface Job { id: string; about: string; state: string; doing: string; progress: number; reason: string | null; reason_ar: string | null }
export interface Fault { at: string; words: string; text: string; start_ms: number; end_ms: number }
export interface Report {
  fit: number; count_ms: number | null; duration_ms: number; reminder: string;
  words: { at: string; text: string; start_ms: number; end_ms: number }[];
  sounds: { word: number; ipa: string; start_ms: number; end_ms: number }[];
  sites: {
    rule: string; at: string; start_ms: number; end_ms: number; held_ms: number | null;
    measured_counts: number | null; expected_counts: number | null; reliability: string;
  }[];
  faults?: Fault[]; // plain errors first
  cannot_tell?: Fault[]; // of what it cannot be told, with the likeliest place
  findings: { kind: string; at: string | null; text: string; start_ms: number | null; end_ms: number | null }[];
  quality: { warnings: { kind: string; text: string }[] };
}
// Where a word, or a sound of it (from 0), begins: set by hand.
export interface Pin { at: string; sound: number | null; ms: number }
export const clock = (seconds: number | null) => seconds === null ? "–:––" :
  `${Math.floor(seconds / 60)}:${String(Math.floor(seconds % 60)).padStart(2, "0")}`;
