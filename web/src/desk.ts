// What every screen shares: language, theme, where we are, who is signed in.
import { createContext } from "preact";
import { useContext, useEffect, useLayoutEffect, useMemo, useRef, useState } from "preact/hooks";
import { counted, say, type Key, type Lang, type Thing } from "./words";

export type Theme = "light" | "dark";
export interface Desk {
  lang: Lang; theme: Theme;
  t: (key: Key) => string;
  counted: (n: number, thing: Thing) => string;
  // Of a thing that comes in both languages: the words of this one.
  in_lang: (thing: object, member: string) => string;
}
export function deskIn(lang: Lang, theme: Theme): Desk {
  return {
    lang, theme, t: (key) => say(lang, key), counted: (n, thing) => counted(lang, n, thing),
    in_lang: (thing, member) => {
      const both = thing as Record<string, string>;
      return (lang === "ar" ? both[`${member}_ar`] : both[member]) || both[member] || "";
    },
  };
}
export const DeskContext = createContext<Desk>(deskIn("en", "light"));
export const useDesk = () => useContext(DeskContext);

// Words that come with a part of their own, so that nobody loads what they will not read.
export function useWords<W extends Record<string, [string, string]>>(words: W): (key: keyof W) => string {
  const { lang } = useDesk();
  return (key) => words[key]![lang === "ar" ? 1 : 0];
}

export function remembered(name: string): string | null {
  try { return localStorage.getItem(name); } catch { return null; }
}
export function remember(name: string, value: string) {
  try { localStorage.setItem(name, value); } catch { /* a browser that keeps nothing still works */ }
  // The desk looks at these, to send what will be seen first along with the page.
  const told = value.replaceAll(" ", ".") || "none";
  if (["lang", "passage", "theme", "families"].includes(name) && /^[\w:.,-]+$/.test(told))
    document.cookie = `${name}=${told}; Path=/; SameSite=Strict; Max-Age=31536000`;
}

export interface Place { path: string[]; query: URLSearchParams }
// An address typed by hand may hold what no address encodes: that part is taken as it stands.
function decoded(part: string): string {
  try { return decodeURIComponent(part); } catch { return part; }
}
export function placeNow(): Place {
  return {
    path: location.pathname.split("/").filter(Boolean).map(decoded),
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
// the new is there, so that nothing jumps. What is known already is there at once.
export function useAsked<T>(key: string | null, ask: (signal: AbortSignal) => Promise<T>, known?: () => T | null) {
  const none = { key: null as string | null, value: null as T | null, trouble: null as string | null };
  const [found, setState] = useState(none), last = useRef(none);
  const at_once = useMemo(() => {
    const value = key !== null && known ? known() : null;
    return value ? { key, value, trouble: null } : null;
  }, [key]);
  const state = last.current = at_once ?? (found.key === key ? found : last.current);
  // In the same frame: it is asked for before what was there is painted again.
  useLayoutEffect(() => {
    if (at_once) return;
    if (key === null) { setState(none); return; }
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
