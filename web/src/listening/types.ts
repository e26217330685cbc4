// What waits at the desk to be listened to; docs/api.md.
export interface Row {
  id: string; person: string | null; label: string | null; assignment: string | null; title: string | null; passage: string | null; audio: boolean;
  state: string; problem: string | null; problem_ar: string | null; need: number; places: number; ruled: number; made_ms: number; sent_ms: number;
}
// One place, with what the ear makes of it and how the teacher ruled. Without a rule where a fault is none's.
export interface Site {
  site: number; rule: string | null; name: string | null; name_ar: string | null; letter: string | null; at: string; word: string | null;
  start_ms: number; end_ms: number;
  measured_counts: number | null; counts_low: number | null; counts_high: number | null; expected_counts: number | null;
  sureness: number; trust: string; told: string; fault_name: string | null; fault_name_ar: string | null; ruling: "" | "agree" | "overrule"; sent_ruling: string;
}
export interface Note { id: string; at: string | null; word: string | null; start_ms: number | null; end_ms: number | null; text: string; sound: boolean; by: string; made_ms: number; sent: boolean }
export interface Whole extends Row {
  seconds: number | null; marks: { at: string; mark: string; word: string | null; start_ms: number | null; end_ms: number | null }[]; sites: Site[]; notes: Note[]; findings: { text: string; text_ar: string }[];
}
