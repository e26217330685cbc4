// The desk: signing in, the frame around every screen, and which screen is shown.
import { render } from "preact";
import { useEffect, useMemo, useState } from "preact/hooks";
import { get, holdToken, once, Refusal, send, type Rules, type Session } from "./api";
import { deskIn, DeskContext, go, placeNow, remember, remembered, useDesk, usePlace, type Theme } from "./desk";
import { SignIn } from "./signin";
import { screens } from "./screens";
import type { Lang } from "./words";

const linkMark = "#enter=";

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

// The notation's inks come from the server, so that a page and a sheet never differ.
function takeInks(rules: Rules, theme: Theme) {
  for (const family of rules.families)
    document.documentElement.style.setProperty(`--ink-${family.family}`,
      theme === "dark" ? family.ink_dark : family.ink);
}

function Link(props: { to: string; current: boolean; children: string }) {
  return <a href={props.to} aria-current={props.current ? "page" : undefined} onClick={(event) => {
    if (event.metaKey || event.ctrlKey || event.shiftKey) return;
    event.preventDefault();
    go(props.to);
  }}>{props.children}</a>;
}

function Frame(props: { session: Session; turn: () => void; swap: () => void; leave: () => void }) {
  const { t, theme, lang } = useDesk();
  const place = usePlace();
  const here = screens.find((screen) => screen.path === place.path[0]) ?? screens[0]!;
  useEffect(() => { document.title = `${t(here.name)} · Mistara`; }, [here, lang]);
  return <>
    <a class="skip" href="#page" onClick={(event) => {
      event.preventDefault();
      document.getElementById("page")?.focus();
    }}>{t("skip")}</a>
    <header class="head">
      <span class="name" lang={lang}>{lang === "ar" ? "مسطرة" : "Mistara"}</span>
      <nav aria-label={t("screens")}>
        {screens.map((screen) =>
          <Link key={screen.path} to={`/${screen.path}`} current={screen === here}>{t(screen.name)}</Link>)}
      </nav>
      <div class="tools">
        <button type="button" class="quiet" lang={lang === "ar" ? "en" : "ar"} onClick={props.swap}>{t("other_language")}</button>
        <button type="button" class="quiet" onClick={props.turn}>{t(theme === "dark" ? "to_light" : "to_dark")}</button>
        <button type="button" class="quiet" onClick={props.leave}>{t("sign_out")}</button>
      </div>
    </header>
    <div class="ticks" aria-hidden="true" />
    <main id="page" tabIndex={-1}><here.Screen place={place} /></main>
  </>;
}

function App() {
  const [session, setSession] = useState<Session | null>(null);
  const [trouble, setTrouble] = useState("");
  const [lang, setLang] = useState(langFirst);
  const [theme, setTheme] = useState(themeFirst);
  const desk = useMemo(() => deskIn(lang, theme), [lang, theme]);
  const settle = (found: Session) => { holdToken(found); setSession(found); };

  useEffect(() => {
    arrive().then(settle, (error: Error) => setTrouble(error.message));
    const out = () => setSession((was) => was && { ...was, signed_in: false, token: null });
    window.addEventListener("signed-out", out);
    return () => window.removeEventListener("signed-out", out);
  }, []);
  useEffect(() => {
    document.documentElement.lang = lang;
    document.documentElement.dir = lang === "ar" ? "rtl" : "ltr";
    remember("lang", lang);
  }, [lang]);
  useEffect(() => {
    const wear = (worn: Theme) => {
      document.documentElement.dataset.theme = worn;
      if (session?.signed_in) once<Rules>("rules").then((rules) => takeInks(rules, worn), () => {});
    };
    const toPaper = () => wear("light"), back = () => wear(theme);
    wear(theme);
    window.addEventListener("beforeprint", toPaper);
    window.addEventListener("afterprint", back);
    return () => {
      window.removeEventListener("beforeprint", toPaper);
      window.removeEventListener("afterprint", back);
    };
  }, [theme, session?.signed_in]);

  const leave = () => void send("DELETE", "session").then(() => get<Session>("session")).then(settle);
  const turn = () => { const next = theme === "dark" ? "light" : "dark"; remember("theme", next); setTheme(next); };
  return <DeskContext.Provider value={desk}>
    {session === null
      ? <main id="page" class="narrow"><p role="status">{trouble || desk.t("waiting")}</p></main>
      : session.signed_in
        ? <Frame session={session} turn={turn} swap={() => setLang(lang === "ar" ? "en" : "ar")} leave={leave} />
        : <SignIn session={session} refused={linkRefused} entered={settle} />}
  </DeskContext.Provider>;
}

if (placeNow().path.length === 0) history.replaceState(null, "", `/text${location.hash}`);
render(<App />, document.getElementById("desk")!);
