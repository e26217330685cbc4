// What every screen shares: language, theme, where we are, who is signed in.
import { createContext } from "preact";
import { useContext, useEffect, useState } from "preact/hooks";
import { say, type Key, type Lang } from "./words";

export type Theme = "light" | "dark";
export interface Desk {
  lang: Lang; theme: Theme;
  t: (key: Key) => string;
  // Of a thing that comes in both languages: the words of this one.
  in_lang: (thing: object, member: string) => string;
}
export function deskIn(lang: Lang, theme: Theme): Desk {
  return {
    lang, theme, t: (key) => say(lang, key),
    in_lang: (thing, member) => {
      const both = thing as Record<string, string>;
      return (lang === "ar" ? both[`${member}_ar`] : both[member]) || both[member] || "";
    },
  };
}
export const DeskContext = createContext<Desk>(deskIn("en", "light"));
export const useDesk = () => useContext(DeskContext);

export function remembered(name: string): string | null {
  try { return localStorage.getItem(name); } catch { return null; }
}
export function remember(name: string, value: string) {
  try { localStorage.setItem(name, value); } catch { /* a browser that keeps nothing still works */ }
}

export interface Place { path: string[]; query: URLSearchParams }
export function placeNow(): Place {
  return {
    path: location.pathname.split("/").filter(Boolean).map(decodeURIComponent),
    query: new URLSearchParams(location.search),
  };
}
export function go(to: string, replace = false) {
  history[replace ? "replaceState" : "pushState"](null, "", to);
  window.dispatchEvent(new PopStateEvent("popstate"));
}
export function usePlace(): Place {
  const [place, setPlace] = useState(placeNow);
  useEffect(() => {
    const moved = () => setPlace(placeNow());
    window.addEventListener("popstate", moved);
    return () => window.removeEventListener("popstate", moved);
  }, []);
  return place;
}

// Something asked of the server, for as long as its key stays the same; what was there stays until
// the new is there, so that nothing jumps.
export function useAsked<T>(key: string | null, ask: (signal: AbortSignal) => Promise<T>) {
  const [state, setState] = useState<{ key: string | null; value: T | null; trouble: string | null }>(
    { key: null, value: null, trouble: null });
  useEffect(() => {
    if (key === null) { setState({ key, value: null, trouble: null }); return; }
    const stop = new AbortController();
    ask(stop.signal).then(
      (value) => { if (!stop.signal.aborted) setState({ key, value, trouble: null }); },
      (error: Error) => {
        if (!stop.signal.aborted) setState({ key, value: null, trouble: error.message });
      });
    return () => stop.abort();
  }, [key]);
  return { value: state.value, trouble: state.trouble, fresh: state.key === key };
}
