// The frame around every screen: the name, the way to the screens, language, light and leaving.
import { useEffect } from "preact/hooks";
import type { Session } from "./api";
import { go, useDesk, usePlace } from "./desk";
import { later } from "./later";
import { screensOf } from "./screens";

const Leaving = later(() => import("./leave").then((made) => made.Leaving)).Screen;
const Mine = later(() => import("./mine/page").then((made) => made.MinePage)).Screen;

function Link(props: { to: string; current: boolean; children: string }) {
  return <a href={props.to} aria-current={props.current ? "page" : undefined} onClick={(event) => {
    event.preventDefault();
    go(props.to);
  }}>{props.children}</a>;
}

function Skip() {
  const { t } = useDesk();
  return <a class="skip" href="#page" onClick={(event) => {
    event.preventDefault();
    document.getElementById("page")?.focus();
  }}>{t("skip")}</a>;
}

export function Tools(props: { turn: () => void; swap: () => void; leave: (() => void) | null }) {
  const { t, lang } = useDesk();
  return <div class="tools">
    <button type="button" class="quiet" lang={lang === "ar" ? "en" : "ar"} onClick={props.swap}>{t("other_language")}</button>
    <button type="button" class="quiet" onClick={props.turn}><span class="to-dark">{t("to_dark")}</span><span class="to-light">{t("to_light")}</span></button>
    {props.leave && <button type="button" class="quiet" onClick={props.leave}>{t("sign_out")}</button>}
  </div>;
}

// What a learner has: their own page, and nothing beside it.
export function LearnerFrame(props: {
  session: Session; away: string; instead: Session | null; entered: (session: Session) => void; turn: () => void; swap: () => void; leave: () => void;
  stay: () => void;
}) {
  const { t, lang } = useDesk();
  useEffect(() => { document.title = `${t("mine")} · Mistara`; }, [lang]);
  return <>
    <Skip />
    <header class="head">
      <span class="name" lang={lang}>{lang === "ar" ? "مسطرة" : "Mistara"}</span>
      {props.instead && <nav aria-label={t("screens")}><a href={props.instead.role === "learner" ? "/mine" : "/text"} onClick={(event) => { event.preventDefault(); props.stay(); }}>{t("stay")}</a></nav>}
      <Tools turn={props.turn} swap={props.swap} leave={props.session.signed_in ? () => { if (confirm(t("leave_sure"))) props.leave(); } : null} />
    </header>
    <div class="ticks" aria-hidden="true" />
    <main id="page" tabindex={-1}><Mine session={props.session} away={props.away} instead={props.instead} entered={props.entered} /></main>
  </>;
}

// Signing out has a page of its own (leave.tsx): who does it should know how to come back.
export function Frame(props: { session: Session; turn: () => void; swap: () => void; changed: (session: Session) => void; leave: () => void }) {
  const { t, lang } = useDesk();
  const place = usePlace();
  const screens = screensOf(props.session.role);
  const here = screens.find((screen) => screen.path === (place.path[0] ?? "text"));
  const leaving = place.path[0] === "leave";
  useEffect(() => { document.title = here ? `${t(here.name)} · Mistara` : "Mistara"; }, [here, lang]);
  return <>
    <Skip />
    <header class="head">
      <span class="name" lang={lang}>{lang === "ar" ? "مسطرة" : "Mistara"}</span>
      <nav aria-label={t("screens")}>
        {screens.map((screen) =>
          <Link key={screen.path} to={`/${screen.path}`} current={screen === here}>{t(screen.name)}</Link>)}
      </nav>
      <Tools turn={props.turn} swap={props.swap} leave={() => go("/leave")} />
    </header>
    <div class="ticks" aria-hidden="true" />
    <main id="page" tabindex={-1}>{here ? <here.Screen place={place} />
      : leaving ? <Leaving session={props.session} changed={props.changed} leave={props.leave} /> : <Nowhere />}</main>
  </>;
}

// An address that leads nowhere, or to a screen that is not this person's.
function Nowhere() {
  const { t } = useDesk();
  return <>
    <h1>{t("nowhere")}</h1>
    <p class="note">{t("nowhere_lead")}</p>
  </>;
}
