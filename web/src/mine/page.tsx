// The learner's page: what is given out, what became of what was handed in.
import { useEffect, useState } from "preact/hooks";
import { get, send, type Session } from "../api";
import { go, remember, remembered, useDesk, usePlace, useWords } from "../desk";
import { told } from "../told";
import { AnswerPage } from "./answer";
import { Assignment } from "./assignment";
import { useDrawer, type Drawer } from "./drawer";
import { Join } from "./join";
import { keepForLater, lastHere, noteHere } from "./lineless";
import { Pinch } from "./pinch";
import { Going } from "./going";
import { dateLang, type Given, type Mine } from "./types";
import { mineWords } from "./words";

const again_ms = 60_000;

export function MinePage(props: { session: Session; away: string; instead: Session | null; entered: (session: Session) => void }) {
  const t = useWords(mineWords);
  const { session, away } = props;
  const known = session.signed_in ? session.person?.id ?? null : null, person = known ?? (away ? lastHere() : null);
  useEffect(() => { if (known) noteHere(known); else if (!away && !session.signed_in && session.version) noteHere(null); }, [known, away, session]);
  return <div class="mine">
    {away && !person && <p class="trouble" role="alert">{t("away")}</p>}
    {person ? <Inside key={person} person={person} /> : session.signed_in ? <p role="status">{t("making")}</p>
      : !away && <Join instead={props.instead} entered={props.entered} />}
  </div>;
}

function useMine(person: string) {
  // What was known last stands there while the line is gone.
  const drawer = `mine ${person}`;
  const [mine, setMine] = useState<Mine | null>(() => {
    try { return JSON.parse(remembered(drawer) ?? "null") as Mine | null; } catch { return null; }
  });
  const [trouble, setTrouble] = useState("");
  const load = () => get<Mine>("mine").then((found) => {
    setMine(found);
    setTrouble("");
    remember(drawer, JSON.stringify(found));
  }, (error: Error) => setTrouble(error.message));
  useEffect(() => {
    const look = () => { if (document.visibilityState === "visible") void load(); };
    look();
    const timer = setInterval(look, again_ms);
    document.addEventListener("visibilitychange", look);
    window.addEventListener("online", look);
    const hush = told({ submission: look, hello: () => {} });
    return () => { clearInterval(timer); hush(); document.removeEventListener("visibilitychange", look); window.removeEventListener("online", look); };
  }, [person]);
  return { mine, trouble, load };
}

function Inside({ person }: { person: string }) {
  const t = useWords(mineWords);
  const place = usePlace();
  const { mine, trouble, load } = useMine(person);
  const drawer = useDrawer(person, () => void load());
  const { lang } = useDesk();
  const given = mine?.assignments.map((one) => `${one.id} ${one.passage}`).join();
  useEffect(() => { if (mine && !trouble) void keepForLater(mine.assignments, lang); }, [given, lang, !!trouble]);
  const [, what, id] = place.path;
  if (!mine) return <p role="status">{trouble || t("making")}</p>;
  const agreed = mine.consent.holds;
  const of = (wanted: string | undefined) => mine.assignments.find((one) => one.id === wanted);
  const open = what === "pinch" || what === "sent" ? null : of(what);
  return <>
    {(trouble || drawer.away) && <p class="trouble" role="alert">{t("away")}</p>}
    {drawer.full && <p class="trouble" role="alert" lang="en" dir="ltr">{drawer.full}</p>}
    {what && <p><a href="/mine" onClick={(event) => { event.preventDefault(); go("/mine"); }}>{t("all_work")}</a></p>}
    {!agreed ? <ConsentNote mine={mine} said={load} />
      : what === "sent" && id ? <AnswerPage key={id} id={id} changed={() => void load()} />
      : what === "pinch" && of(id) ? <Pinch key={id} given={of(id)!} />
      : open ? <Assignment key={open.id} person={person} given={open} drawer={drawer} />
      : <GivenOut mine={mine} drawer={drawer} gone={!!what && drawer.loaded} changed={() => void load()} />}
  </>;
}

function ConsentNote({ mine, said }: { mine: Mine; said: () => void }) {
  const t = useWords(mineWords);
  const [trouble, setTrouble] = useState("");
  const agree = (by: "self" | "guardian") => send("POST", "mine/consent", { by }).then(said, (error: Error) => setTrouble(error.message));
  return <section class="leaf consent" aria-labelledby="consent">
    <h1 id="consent">{t("consent")}</h1>
    {mine.consent.words ? <>
      <p class="consent-words" dir="auto">{mine.consent.words}</p>
      <p class="row"><button type="button" onClick={() => void agree("self")}>{t("consent_self")}</button>
        <button type="button" onClick={() => void agree("guardian")}>{t("consent_guardian")}</button></p></>
      : <p>{t("consent_none")}</p>}
    {trouble && <p class="trouble" role="alert">{trouble}</p>}
  </section>;
}

// The day, in words where it is near.
export function useDay() {
  const t = useWords(mineWords);
  const { lang } = useDesk();
  return (ms: number) => {
    const day = (one: number) => new Date(one).toDateString(), now = Date.now();
    if (day(ms) === day(now)) return t("today");
    if (day(ms) === day(now + 86_400_000)) return t("tomorrow");
    return new Date(ms).toLocaleDateString(dateLang(lang), { weekday: "long", day: "numeric", month: "long" });
  };
}

export function useDue() {
  const t = useWords(mineWords);
  const day = useDay();
  return (ms: number) => `${t(ms < Date.now() ? "was_due" : "due")} ${day(ms)}`;
}

// What is due next comes first; then what has no day, what is late, what is with the teacher, what is
// answered, and what is not given out any more.
function inTurn(now: number) {
  const kind = (one: Given) => one.withdrawn_ms ? 5 : one.submissions.some((sent) => sent.sent_ms) ? 4 : one.submissions.length ? 3
    : one.due_ms === 0 ? 1 : one.due_ms < now ? 2 : 0;
  return (a: Given, b: Given) => kind(a) - kind(b) || (kind(a) === 0 ? a.due_ms - b.due_ms : b.due_ms - a.due_ms);
}

// What was agreed to can be read again, and taken back.
function Agreed({ mine, changed }: { mine: Mine; changed: () => void }) {
  const t = useWords(mineWords);
  const day = useDay();
  const [trouble, setTrouble] = useState("");
  const withdraw = async () => {
    if (!confirm(t("withdraw_sure"))) return;
    try {
      const { recordings } = await send<{ recordings: number }>("DELETE", "mine/consent");
      if (recordings > 0 && confirm(t("delete_all_sure"))) await send("DELETE", "mine/recordings");
      changed();
    } catch (error) { setTrouble((error as Error).message); }
  };
  return <details class="consent-said"><summary>{t("consent_words")}</summary>
    <p class="consent-words" dir="auto">{mine.consent.words}</p>
    <p class="faint">{t("consent_said")} {day(mine.consent.said_ms)}</p>
    <button type="button" class="quiet" onClick={() => void withdraw()}>{t("withdraw")}</button>
    {trouble && <p class="trouble" role="alert">{trouble}</p>}
  </details>;
}

function GivenOut({ mine, drawer, gone, changed }: { mine: Mine; drawer: Drawer; gone: boolean; changed: () => void }) {
  const t = useWords(mineWords);
  const due = useDue();
  const all = [...mine.assignments].sort(inTurn(Date.now()));
  return <>
    <h1>{mine.person.label} <span class="faint">{mine.class.name}</span></h1>
    {gone && <p class="trouble">{t("gone")}</p>}
    <section aria-labelledby="work">
      <h2 id="work">{t("work")}</h2>
      {all.length === 0 && <p class="faint">{t("no_work")}</p>}
      <ol class="given">{all.map((one) => <li key={one.id} class="leaf">
        <h3><a href={`/mine/${one.id}`} onClick={(event) => { event.preventDefault(); go(`/mine/${one.id}`); }}><bdi>{one.title || one.passage}</bdi></a></h3>
        <p class="faint"><bdi>{one.passage}</bdi>{one.withdrawn_ms > 0 ? <> · {t("gone")}</> : one.due_ms > 0 && <> · {due(one.due_ms)}</>}</p>
        <Became given={one} drawer={drawer} />
      </li>)}</ol>
    </section>
    <Going />
    <Agreed mine={mine} changed={changed} />
    <p class="note">{t("rest")}</p>
  </>;
}

// Where every recording of it is: on this device, on its way, with the teacher, answered.
export function Became({ given, drawer }: { given: Given; drawer: Drawer }) {
  const t = useWords(mineWords);
  const day = useDay();
  const here = drawer.works.filter((one) => one.assignment === given.id);
  return <ul class="became">
    {here.map((work) => <li key={work.id}>
      {work.trouble ? <span class="trouble">{t("state_refused")}: {work.trouble}</span>
        : !work.handed ? t("state_open")
        : drawer.away ? t("state_waits")
        : <>{t("state_sending")} <progress max={work.bytes || 1} value={work.have} aria-label={t("state_sending")} /></>}
    </li>)}
    {given.submissions.map((one) => <li key={one.id}>
      <span>{day(one.made_ms)}: {t(one.sent_ms ? "state_answered" : "state_with_teacher")}</span>{" "}
      <a href={`/mine/sent/${one.id}`} onClick={(event) => { event.preventDefault(); go(`/mine/sent/${one.id}`); }}>{t(one.sent_ms ? "open_answer" : "handed")}</a>
    </li>)}
  </ul>;
}
