// Asking the desk. Every shape here is one of docs/api.md.
import type { Sign } from "./text/signs";

export interface Session {
  signed_in: boolean; token: string | null; role: string | null; ways: string[]; passphrase: boolean; version: string;
  // Of an assistant and a learner.
  person?: { id: string; label: string; language: string } | null; class?: { id: string; name: string } | null;
}
export interface Sura { sura: number; name: string; name_ar: string; meaning: string; verses: number }
export interface Family { family: string; name: string; name_ar: string; ink: string; ink_dark: string }
export interface Rule {
  rule: string; family: string; name: string; name_ar: string; mouth: string; mouth_ar: string; source: string;
  on_sheet: boolean;
}
export interface Rules { families: Family[]; rules: Rule[]; paper: string; paper_dark: string;
  lengths: { length: string; name: string; name_ar: string }[]; choices: { option: string; counts: number[] }[] }
// The lengths that the pages offer to choose; what there is to choose among is the engine's to say.
const offered = ["muttasil", "munfasil", "arid", "lin"] as const;
export const lengthChoices = (rules: Rules | null) => offered.map((name) =>
  ({ name, counts: (rules?.choices.find((one) => one.option === name)?.counts ?? []).map(String) }));
export interface Word {
  at: string; verse: string; text: string; display: string; letters: [number, number]; sounds: [number, number];
  sign: string | null; seam: "join" | "stop" | "sakt";
}
export interface Letter { at: string; word: number; base: string; start: number; length: number; sites: number[] }
export interface Site {
  rule: string; trigger: number; host: number | null; first: number; last: number; at: string;
  sign: string | null; counts: number | null; counts_min: number | null; counts_max: number | null; nasal: boolean;
  complete: boolean | null; grade: number | null; heavy: boolean | null; label: string;
}
export interface Reading {
  passage: string; title: string; how: Record<string, string | number | boolean>;
  words: Word[]; letters: Letter[]; sites: Site[]; signs: Record<string, Sign>;
}
export interface Ink { words: Record<string, [number, number][]> }
export interface Resolved { passage: string; title: string; first: string; last: string; verses: number; words: number; parts: string[] }
export interface Hit {
  at: string; sura: number; verse: number; first_word: number | null; last_word: number | null; display: string;
  translation: { code: string; text: string; start: number; length: number } | null;
}
export interface ExplainedSite {
  rule: string; family: string; at: string; name: string; name_ar: string; label: string; label_ar: string;
  reason: string; reason_ar: string; mouth: string; mouth_ar: string; source: string; source_ar: string;
  counts: number | null; counts_min: number | null; counts_max: number | null;
}
export interface Explained {
  at: string; word: string; display: string;
  letter: null | {
    letter: string; name: string; name_ar: string; region: string; region_ar: string; place_name: string;
    place_name_ar: string; qualities: { quality: string; name: string; name_ar: string }[];
  };
  sites: ExplainedSite[];
}

export class Refusal extends Error {
  constructor(readonly status: number, readonly code: string, message: string) { super(message); }
}

let token: string | null = null, told: () => void;
const tokenKnown = new Promise<void>((done) => { told = done; });
export function holdToken(session: Session | null) {
  token = session?.token ?? null;
  told();
}

export type Query = Record<string, string | number | boolean | null | undefined>;

export function address(path: string, query: Query = {}): string {
  const parts = Object.entries(query).filter(([, value]) => value !== undefined && value !== null && value !== "");
  const text = parts.map(([name, value]) =>
    `${name}=${encodeURIComponent(typeof value === "boolean" ? Number(value) : String(value))}`).join("&");
  return `/api/${path}${text ? `?${text}` : ""}`;
}

// Of a reading what a page draws: neither its sounds nor the reasons.
export const drawn = (query: Query): Query => ({ ...query, parts: "words,letters,sites" });

// What the page will ask first comes along with it (src/server/first.c), each answer under its address.
interface First { signed_in: boolean; role: string | null; answers: Record<string, unknown> }
function readFirst(): First {
  try { return JSON.parse(document.getElementById("first")!.textContent!) as First; } catch { return { signed_in: false, role: null, answers: {} }; }
}
export const first = readFirst();
export const here = <T>(path: string, query: Query = {}) =>
  (first.answers[address(path, query)] ?? soon.get(address(path, query))?.value ?? null) as T | null;

// What a hand is about to ask for, asked while it still moves; the last few answers are kept.
const soon = new Map<string, { value: unknown; asked: Promise<unknown> }>();
const soon_most = 12;
export function ahead(path: string, query: Query) {
  const at = address(path, query);
  if (first.answers[at] || soon.has(at)) return;
  const one: { value: unknown; asked: Promise<unknown> } = { value: null, asked: reach(at, {}).then(answer).then((value) => one.value = value) };
  one.asked.catch(() => soon.delete(at));
  soon.set(at, one);
  if (soon.size > soon_most) soon.delete(soon.keys().next().value!);
}

// Both languages come along; the page's own counts.
const inArabic = () => document.documentElement.lang === "ar";
export function refusal(response: Response, body: { error?: { code: string; message: string; message_ar: string } } | null): Refusal {
  const error = body?.error;
  return new Refusal(response.status, error?.code ?? "io", (inArabic() ? error?.message_ar : error?.message) ?? response.statusText);
}

// A desk that is not there says nothing, and browsers put that in words of their own.
async function reach(at: string, how: RequestInit): Promise<Response> {
  try {
    return await fetch(at, how);
  } catch (error) {
    if ((error as Error).name === "AbortError") throw error;
    throw new Error(inArabic() ? "المكتب لا يجيب؛ لعله أُغلق أو انقطع الاتصال." : "The desk does not answer. It may have been closed, or the line is broken.");
  }
}

async function answer<T>(response: Response): Promise<T> {
  if (response.status === 204) return undefined as T;
  const body = await response.json().catch(() => null);
  if (!response.ok) {
    if (response.status === 401) window.dispatchEvent(new Event("signed-out"));
    throw refusal(response, body);
  }
  return body as T;
}

export async function get<T>(path: string, query: Query = {}, signal?: AbortSignal): Promise<T> {
  const known = here<T>(path, query);
  if (known) return known;
  const under_way = soon.get(address(path, query));
  if (under_way) return under_way.asked as Promise<T>;
  return answer<T>(await reach(address(path, query), { signal: signal ?? null }));
}

export async function send<T>(method: string, path: string, body: unknown = {}, query: Query = {}): Promise<T> {
  const raw = body instanceof Blob;
  if (path !== "session" || method !== "POST") await tokenKnown;
  const headers: Record<string, string> = token ? { "X-Mistara-Token": token } : {};
  if (!raw) headers["Content-Type"] = "application/json";
  else if (body.type) headers["Content-Type"] = body.type;
  return answer<T>(await reach(address(path, query), {
    method, headers, body: method === "DELETE" ? null : raw ? body : JSON.stringify(body),
  }));
}

// A file that is made by being asked for.
export async function file(path: string, method: "POST" | "GET" = "POST"): Promise<Blob> {
  await tokenKnown;
  const response = await reach(address(path), method === "GET" ? {} : { method, headers: { "Content-Type": "application/json", ...(token ? { "X-Mistara-Token": token } : {}) }, body: "{}" });
  return response.ok ? response.blob() : answer<Blob>(response);
}

// What does not change while the desk is open is asked for once.
const kept = new Map<string, Promise<unknown>>();
export function once<T>(path: string): Promise<T> {
  let asked = kept.get(path);
  if (!asked) {
    asked = get<T>(path);
    asked.catch(() => kept.delete(path));
    kept.set(path, asked);
  }
  return asked as Promise<T>;
}
