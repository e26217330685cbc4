// What is known of a rule with a learner, and the word for it. The bounds say how the words are meant,
// nothing more: known well enough that the lower end is above two in three; or surely below half.
export interface Known {
  rule: string; name: string; name_ar: string; family: string; heard: number; right: number;
  known: number; low: number; high: number; last_ms: number; due_ms: number;
  // Week by week; of one learner only.
  course?: { made_ms: number; known: number; low: number; high: number }[];
  letters?: { letter: string; letter_ar: string; heard: number; right: number; known: number; low: number; high: number }[];
}
const few = 3;
export type Standing = "settled" | "coming" | "needs_work" | "little";
export function standing(one: { heard: number; known: number; low: number; high: number }): Standing {
  if (one.heard < few) return "little";
  if (one.low >= 0.67) return "settled";
  return one.known < 0.5 ? "needs_work" : "coming";
}
