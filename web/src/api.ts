// Asking the desk. Every shape here is one of docs/api.md.

export interface Session {
  signed_in: boolean; token: string | null; role: string | null; ways: string[]; passphrase: boolean; version: string;
}
export interface Sura { sura: number; name: string; name_ar: string; meaning: string; verses: number }
export interface Family { family: string; name: string; name_ar: string; ink: string; ink_dark: string }
export interface Rule {
  rule: string; family: string; name: string; name_ar: string; mouth: string; mouth_ar: string; source: string;
  on_sheet: boolean;
}
export interface Rules { families: Family[]; rules: Rule[]; paper: string; paper_dark: string;
  lengths: { length: string; name: string; name_ar: string }[] }
export interface Word {
  at: string; verse: string; text: string; display: string; letters: [number, number]; sounds: [number, number];
  sign: string | null; seam: "join" | "stop" | "sakt";
}
export interface Letter { at: string; word: number; base: string; start: number; length: number; sites: number[] }
export interface Site {
  rule: string; trigger: number; host: number | null; first: number; last: number; at: string;
  counts: number | null; counts_min: number | null; counts_max: number | null; nasal: boolean;
  complete: boolean | null; grade: number | null; heavy: boolean | null; label: string; reason: string;
}
export interface Reading {
  passage: string; title: string; how: Record<string, string | number | boolean>;
  words: Word[]; letters: Letter[]; sites: Site[];
}
export interface Ink { words: Record<string, [number, number][]> }
export interface Resolved { passage: string; title: string; first: string; last: string; verses: number; words: number }
export interface Hit {
  at: string; sura: number; verse: number; first_word: number | null; last_word: number | null; display: string;
  translation: { code: string; text: string; start: number; length: number } | null;
}
export interface ExplainedSite {
  rule: string; family: string; at: string; name: string; name_ar: string; label: string; label_ar: string;
  reason: string; reason_ar: string; mouth: string; mouth_ar: string; source: string;
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

let token: string | null = null;
export function holdToken(session: Session) { token = session.token; }

export type Query = Record<string, string | number | boolean | null | undefined>;

export function address(path: string, query: Query = {}): string {
  const parts = Object.entries(query).filter(([, value]) => value !== undefined && value !== null && value !== "");
  const text = parts.map(([name, value]) =>
    `${name}=${encodeURIComponent(typeof value === "boolean" ? Number(value) : String(value))}`).join("&");
  return `/api/${path}${text ? `?${text}` : ""}`;
}

async function answer<T>(response: Response): Promise<T> {
  if (response.status === 204) return undefined as T;
  const body = await response.json().catch(() => null);
  if (!response.ok) {
    if (response.status === 401) window.dispatchEvent(new Event("signed-out"));
    throw new Refusal(response.status, body?.error?.code ?? "io", body?.error?.message ?? response.statusText);
  }
  return body as T;
}

export async function get<T>(path: string, query: Query = {}, signal?: AbortSignal): Promise<T> {
  return answer<T>(await fetch(address(path, query), { signal: signal ?? null }));
}

export async function send<T>(method: string, path: string, body: unknown = {}, query: Query = {}): Promise<T> {
  const raw = body instanceof Blob;
  const headers: Record<string, string> = token ? { "X-Mistara-Token": token } : {};
  if (!raw) headers["Content-Type"] = "application/json";
  else if (body.type) headers["Content-Type"] = body.type;
  return answer<T>(await fetch(address(path, query), {
    method, headers, body: method === "DELETE" ? null : raw ? body : JSON.stringify(body),
  }));
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
