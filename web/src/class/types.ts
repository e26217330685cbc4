// What the desk says of a class; docs/api.md.
import type { Query } from "../api";

export interface Class {
  id: string; name: string; language: string; retention_days: number; consent: string; made_ms: number; closed_ms: number;
  revision: number; learners?: number; unsent?: number;
}
export interface Person {
  id: string; class: string; role: string; label: string; note: string; language: string; voice: boolean | string | null;
  consent: { by: string; said_ms: number; withdrawn_ms: number; holds: boolean } | null;
  code: { made_ms: number; ends_ms: number; used_ms: number } | null;
  left_ms: number; revision: number;
}
export interface Given {
  id: string; class: string; title: string; passage: string; how: Query; lesson: string | null; rules: string; attend: string; stage: number;
  take: string | null; due_ms: number; made_ms: number; withdrawn_ms: number; revision: number; handed_in?: number;
}
export interface Receipt { id: string; person: string; made_ms: number; took: Record<string, number>; backups: string[] }
// `elsewhere`: whether the link leads here from other machines too.
export interface Code { code: string; ends_ms: number; link: string; elsewhere: boolean }
export interface Import {
  id: string; name: string; made_ms: number; state: string; problem: string | null; problem_ar: string | null; seconds: number | null;
  proposal: { person: string | null; label: string | null; passage: string | null; assignment: string | null; sureness: number } | null;
}
export const dateLang = (lang: string) => lang === "ar" ? "ar-u-nu-latn" : "en-GB";
export const dayText = (lang: string, when: number | string) => new Date(when).toLocaleDateString(dateLang(lang), { day: "numeric", month: "long", year: "numeric" });
// "heard twice", as the language counts.
export function heardText(lang: string, n: number): string {
  if (lang !== "ar") return n === 1 ? "heard once" : n === 2 ? "heard twice" : `heard ${n} times`;
  const kind = new Intl.PluralRules("ar").select(n);
  return n === 1 ? "سُمع مرة واحدة" : n === 2 ? "سُمع مرتين" : `سُمع ${n} ${kind === "few" ? "مرات" : "مرة"}`;
}
// "58 places", as the language counts.
export function placesText(lang: string, n: number): string {
  if (lang !== "ar") return n === 1 ? "1 place" : `${n} places`;
  const kind = new Intl.PluralRules("ar").select(n);
  return `${n} ${kind === "few" ? "مواضع" : kind === "many" ? "موضعا" : "موضع"}`;
}
