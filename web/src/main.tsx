// The desk: signing in, and who sees what. start.ts calls for it when the page that came first is painted.
import { render } from "preact";
import { useEffect, useLayoutEffect, useMemo, useState } from "preact/hooks";
import { first, get, holdToken, Refusal, send, type Session } from "./api";
import { deskIn, DeskContext, go, placeNow, remember, remembered, usePlace, type Theme } from "./desk";
import { Frame, LearnerFrame } from "./frame";
import { Door, SignIn } from "./signin";
import { screensOf } from "./screens";
import type { Lang } from "./words";

const linkMark = "#enter=", again_ms = 3000;

async function arrive(): Promise<Session> {
  const link = location.hash.startsWith(linkMark) ? location.hash.slice(linkMark.length) : null;
  if (link) {
    history.replaceState(null, "", location.pathname + location.search);
    try {
      return await send<Session>("POST", "session", { link });
    } catch (error) {
      const session = await get<Session>("session");
      if (!session.signed_in && error instanceof Refusal) linkRefused = true;
      return session;
    }
  }
  return get<Session>("session");
}
let linkRefused = false;
const nobody: Session = { signed_in: false, token: null, role: null, ways: [], passphrase: false, version: "" };

function themeFirst(): Theme {
  const kept = remembered("theme");
  if (kept === "light" || kept === "dark") return kept;
  return matchMedia("(prefers-color-scheme: dark)").matches ? "dark" : "light";
}
function langFirst(): Lang {
  const kept = remembered("lang");
  if (kept === "en" || kept === "ar") return kept;
  return navigator.language.startsWith("ar") ? "ar" : "en";
}

function App() {
  // Who is known to be signed in sees the page at once; the token for changes comes after it.
  const [session, setSession] = useState<Session | null>(first.signed_in
    ? { signed_in: true, token: null, role: first.role, ways: [], passphrase: false, version: "" } : null);
  const [trouble, setTrouble] = useState("");
  const [lang, setLang] = useState(langFirst);
  const [theme, setTheme] = useState(themeFirst);
  const desk = useMemo(() => deskIn(lang, theme), [lang, theme]);
  const settle = (found: Session) => { holdToken(found); setSession(found); };

  // A card opened where someone is signed in already: asked first.
  const [joining, setJoining] = useState(() => location.hash.startsWith("#join="));
  const place = usePlace(), learning = place.path[0] === "mine";
  useEffect(() => {
    let alive = true, wait = 0;
    // A learner's line may be gone for a while: what is kept on their device is shown all the same.
    const come = () => arrive().then((found) => { if (alive) { setTrouble(""); settle(found); } }, (error: Error) => {
      if (!alive) return;
      holdToken(null);
      setTrouble(error.message);
      wait = window.setTimeout(come, again_ms);
    });
    void come();
    return () => { alive = false; clearTimeout(wait); };
  }, []);
  useEffect(() => {
    // Signed out elsewhere, or removed: the page ends, and says how one comes in here.
    const out = () => {
      holdToken(null);
      setSession((was) => was && { ...was, signed_in: false, token: null });
      get<Session>("session").then((found) => {
        if (found.signed_in) settle(found);
        else setSession((was) => was && { ...was, ways: found.ways, passphrase: found.passphrase });
      }, () => {});
    };
    window.addEventListener("signed-out", out);
    return () => window.removeEventListener("signed-out", out);
  }, []);
  useLayoutEffect(() => {
    document.documentElement.lang = lang;
    document.documentElement.dir = lang === "ar" ? "rtl" : "ltr";
    remember("lang", lang);
  }, [lang]);
  useLayoutEffect(() => {
    const wear = (worn: Theme) => { document.documentElement.dataset.theme = worn; };
    const toPaper = () => wear("light"), back = () => wear(theme);
    wear(theme);
    window.addEventListener("beforeprint", toPaper);
    window.addEventListener("afterprint", back);
    return () => {
      window.removeEventListener("beforeprint", toPaper);
      window.removeEventListener("afterprint", back);
    };
  }, [theme]);

  const leave = () => void send("DELETE", "session").then(() => get<Session>("session")).then((found) => {
    if (placeNow().path[0] === "leave") go("/text", true);
    settle(found);
  }, (error: Error) => alert(`${desk.t("still_in")} ${error.message}`));
  // A card was opened by someone who is here already and does not come in with it.
  const stay = () => {
    setJoining(false);
    if (session?.role !== "learner") go("/text", true);
  };
  const turn = () => { const next = theme === "dark" ? "light" : "dark"; remember("theme", next); setTheme(next); };
  const swap = () => { remember("lang-chosen", "1"); setLang(lang === "ar" ? "en" : "ar"); };
  if (session?.role === "learner" || (joining && session) || (learning && !session?.signed_in && (session !== null || trouble)))
    return <DeskContext.Provider value={desk}>
      <LearnerFrame session={joining || !session ? nobody : session} away={trouble} instead={joining && session?.signed_in ? session : null}
        entered={(found) => {
          setJoining(false);
          settle(found);
          // Greeted in the language the teacher wrote down, until they choose for themselves.
          const theirs = found.person?.language;
          if ((theirs === "en" || theirs === "ar") && !remembered("lang-chosen")) setLang(theirs);
        }} turn={turn} swap={swap} leave={leave} stay={stay} />
    </DeskContext.Provider>;
  return <DeskContext.Provider value={desk}>
    {session === null
      ? <Door><p role="status">{trouble || desk.t("waiting")}</p></Door>
      : session.signed_in
        ? <Frame session={session} turn={turn} swap={swap} changed={settle} leave={leave} />
        : <SignIn session={session} refused={linkRefused} entered={settle} turn={turn} swap={swap} />}
  </DeskContext.Provider>;
}

// Pressed for a tab or a window of its own, a link is the browser's and not the page's.
window.addEventListener("click", (event) => {
  const apart = event.ctrlKey || event.metaKey || event.shiftKey;
  if (apart && event.target instanceof Element && event.target.closest("a[href]")) event.stopPropagation();
}, true);

// The code on paper leads to the learner's page, wherever it was opened.
if (location.hash.startsWith("#join=") && placeNow().path[0] !== "mine") history.replaceState(null, "", `/mine${location.hash}`);
if (placeNow().path.length === 0) history.replaceState(null, "", `/text${location.hash}`);
// What is there already is taken over as it stands.
render(<App />, document.getElementById("desk")!);
const style = document.querySelector<HTMLElement>("style[data-more]");
if (style && !document.querySelector("link[rel=stylesheet]")) {
  const more = document.createElement("link");
  more.rel = "stylesheet";
  more.href = style.dataset.more!;
  style.before(more);
}
// The other screens, once there is nothing better to do.
const idle = window.requestIdleCallback ?? ((work: () => void) => setTimeout(work, 500));
addEventListener("load", () => idle(() => screensOf(first.role).forEach((screen) => screen.fetch?.())));
