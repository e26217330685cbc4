// One recitation at the desk: its places worst first, each a short clip; a key to agree, a key to
// overrule, a key to hear it again. Nothing leaves before the teacher sends it.
import { useEffect, useRef, useState } from "preact/hooks";
import { address, get, once, send, type Rules } from "../api";
import { go, useDesk, useWords } from "../desk";
import { Go, Trouble, useAct } from "../class/choose";
import { sureness } from "../class/sureness";
import { dayText } from "../class/types";
import { classWords } from "../class/words";
import { wordOf } from "../mine/types";
import { clock } from "../takes/types";
import { NoteBox, Notes, type Drafts, type Noting } from "./notes";
import { states } from "./round";
import { Rulers } from "./rulers";
import type { Note, Site, Whole } from "./types";

const told = { right: "told_right", short: "told_short", long: "told_long", fault: "told_fault", unsure: "told_unsure" } as const;

const margin_ms = 350; // as much room as the clip of a place has

export function OneSubmission(props: {
  id: string; teaching: boolean; seen: string; back: string; changed: () => void; next: () => void;
}) {
  const t = useWords(classWords);
  const { lang, in_lang } = useDesk();
  const { id } = props;
  const [of, setOf] = useState<Whole | null>(null);
  const [rules, setRules] = useState<Rules | null>(null);
  const [now, setNow] = useState(0);
  const [gone, setGone] = useState(false);
  const [noting, setNoting] = useState<Noting | null>(null);
  const [drafts, setDrafts] = useState<Drafts>({});
  const [enrolled, setEnrolled] = useState(false);
  const [length, setLength] = useState<number | null>(null); // of what was never heard by the ear
  const [lost, setLost] = useState("");
  const missed = useRef(false), turns = useRef<Promise<void>>(Promise.resolve());
  const { act, trouble, busy } = useAct();
  const clip = useRef<HTMLAudioElement>(null), sending = useRef<HTMLButtonElement>(null), card = useRef<HTMLElement>(null);
  const whole = useRef<HTMLAudioElement>(null), until = useRef(Infinity);
  const load = () => act(async () => setOf(await get<Whole>(`submissions/${id}`)));
  useEffect(() => { once<Rules>("rules").then(setRules, () => {}); }, []);
  useEffect(() => void load(), [id, props.seen]);
  const site = of?.sites[now];
  const play = (n = now) => {
    const one = of?.sites[n], player = clip.current;
    if (!one || !player || gone) return;
    player.src = address(`submissions/${id}/clip.wav`, { site: one.site });
    void player.play().catch(() => {});
  };
  const hear = (from: number, to: number) => {
    const player = whole.current;
    if (!player) return;
    until.current = to + margin_ms;
    player.currentTime = Math.max(0, from - margin_ms) / 1000;
    void player.play().catch(() => {});
  };
  const to = (n: number, sound = true) => {
    if (!of || of.sites.length === 0) return;
    const next = Math.max(0, Math.min(of.sites.length - 1, n));
    setNow(next);
    setNoting(null);
    if (sound) play(next);
    card.current?.focus({ preventScroll: true });
    card.current?.scrollIntoView({ block: "nearest" });
  };
  // Ruled, then on to the next that is not; after the last one to sending. The page goes on at once:
  // rulings reach the desk one after the other, and one that does not stands again as it was.
  const rule = (ruling: Site["ruling"]) => {
    if (!site || !of) return;
    const set = (from: Site["ruling"], to: Site["ruling"]) => setOf((was) => was && { ...was,
      sites: was.sites.map((one) => one.site === site.site && one.ruling === from ? { ...one, ruling: to } : one) });
    const before = site.ruling;
    missed.current = false;
    setLost("");
    set(before, ruling);
    turns.current = turns.current.then(() => send("PATCH", `submissions/${id}/sites/${site.site}`, { ruling })).then(() => {}, (error: Error) => {
      set(ruling, before);
      missed.current = true;
      setLost(`${site.word ?? site.at}: ${error.message}`);
    });
    if (!ruling) return;
    const after = of.sites.findIndex((one, n) => n > now && !one.ruling), any = after >= 0 ? after : of.sites.findIndex((one, n) => n !== now && !one.ruling);
    if (any >= 0) to(any);
    else sending.current?.focus();
  };
  const next = () => void turns.current.then(() => { if (!missed.current) props.next(); });
  const deliver = () => {
    if (!of || !confirm([...(Object.values(drafts).some((one) => one.trim()) ? [t("draft_left")] : []), t("send_sure")].join("\n"))) return;
    void act(async () => {
      await turns.current;
      if (missed.current) return;
      await send("POST", `submissions/${id}/send`);
      setOf(await get<Whole>(`submissions/${id}`));
      props.changed();
    });
  };
  // On the place that is open; where there is none, on the whole.
  const note = (mode: Noting["mode"]) => setNoting({ mode, whole: !site });
  const noted = () => { setNoting(null); card.current?.focus({ preventScroll: true }); };
  const draft = (at: string, text: string) => setDrafts((was) => ({ ...was, [at]: text }));
  const kept = (one: Note) => setOf((was) => was && { ...was, notes: [...was.notes, one] });
  const keys = useRef<(event: KeyboardEvent) => void>(() => {});
  keys.current = (event) => {
    const target = event.target as HTMLElement;
    // While something is spoken the keys have nothing to rule on.
    if (noting?.mode === "voice" || target.matches("input, textarea, select, audio") || event.ctrlKey || event.metaKey || event.altKey) return;
    const onButton = target.matches("button, a, summary");
    // By the place of the key, so that an Arabic keyboard serves as well.
    const does: Record<string, () => void> = {
      KeyA: () => rule("agree"), KeyO: () => rule("overrule"), KeyU: () => rule(""), KeyN: () => note("text"), KeyV: () => note("voice"),
      ArrowDown: () => to(now + 1), ArrowUp: () => to(now - 1), KeyJ: () => to(now + 1), KeyK: () => to(now - 1),
      KeyS: () => sending.current?.focus(), BracketRight: next,
    };
    if (!onButton) does.Space = () => play();
    if (!does[event.code]) return;
    event.preventDefault();
    does[event.code]!();
  };
  useEffect(() => {
    const press = (event: KeyboardEvent) => keys.current(event);
    window.addEventListener("keydown", press);
    return () => window.removeEventListener("keydown", press);
  }, []);
  useEffect(() => { if (of && !of.audio) setGone(true); }, [of?.audio]);
  if (!of) return <section class="one"><p role="status">…</p><Trouble of={trouble} /></section>;
  const family = (name: string | null) => rules?.rules.find((one) => one.rule === name)?.family ?? "seam";
  const sent = of.sent_ms > 0;
  // Where the ear cannot tell there is nothing to agree with: the teacher says right or wrong.
  const open = (one: Site) => one.told === "unsure";
  const ruling = (one: Site) => t(!one.ruling ? "unruled" : open(one) ? (one.ruling === "agree" ? "ruled_right" : "ruled_wrong")
    : one.ruling === "agree" ? "agreed" : "overruled");
  const telling = (one: Site) => one.fault_name ? in_lang(one, "fault_name") : t(told[one.told as keyof typeof told] ?? "told_unsure");
  const marked = (one: { mark: string }) => t(one.mark === "wrong" ? "wrong" : "unsure");
  const mine = site && of.marks.find((one) => wordOf(one.at) === wordOf(site.at));
  // Ruled, written since: not with the learner yet.
  const since = sent && (of.sites.some((one) => one.ruling !== one.sent_ruling) || of.notes.some((one) => !one.sent));
  const here = noting && !noting.whole ? noting.mode : null;
  const who = of.label ?? t("nobody");
  return <section class="one" aria-label={`${who}, ${of.title || of.passage || ""}`}>
    <p class="back"><Go to={props.back}>{t("queue")}</Go></p>
    <h1><bdi>{who}</bdi> <span class="faint"><bdi>{of.title || of.passage}</bdi> · <bdi>{clock(of.seconds ?? length)}</bdi> · {dayText(lang, of.made_ms)}</span></h1>
    {of.state !== "heard" && <p class="state" role="status">{t(states[of.state as keyof typeof states] ?? "state_received")}</p>}
    {of.problem && <p class="trouble">{in_lang(of, "problem")}</p>}
    {gone ? <p class="faint">{t("sound_gone")}</p>
      : <audio controls preload="metadata" aria-label={t("whole_sound")} ref={whole} onLoadedMetadata={(event) => { if (Number.isFinite(event.currentTarget.duration)) setLength(event.currentTarget.duration); }} src={address(`submissions/${id}/audio`)} onError={() => setGone(true)}
          onPause={() => { until.current = Infinity; }} onTimeUpdate={(event) => { if (event.currentTarget.currentTime * 1000 > until.current) event.currentTarget.pause(); }} />}
    <audio ref={clip} preload="none" class="unseen" />
    <Trouble of={lost || trouble} />
    {of.sites.length === 0 && of.state === "heard" && <p>{t("no_sites")}</p>}
    {site && <article ref={card} class="leaf site-card" tabindex={-1} aria-live="polite">
      <p class="faint">{t("place_n")} <bdi>{now + 1}</bdi> {t("of")} <bdi>{of.sites.length}</bdi> · <bdi>{site.at}</bdi></p>
      <p class="scripture word-large" lang="ar" dir="rtl">{site.word}</p>
      <h2><b style={{ borderColor: `var(--ink-${family(site.rule)})` }}>{in_lang(site, "name")}</b>{site.letter && <span class="faint"> {t("letter")} <span lang="ar">{site.letter}</span></span>}</h2>
      <p class="ear-says"><b>{telling(site)}</b> · <span>{t(sureness(site.sureness, site.trust, site.told))}</span></p>
      {mine && <p class="marked-here">{t("learner_marked")}: {marked(mine)}</p>}
      <Rulers site={site} names={[t("wanted"), t("heard")]} />
      <p class={`ruling ${site.ruling}`}>{ruling(site)}</p>
      <div class="rule-keys">
        <button type="button" disabled={gone} onClick={() => play()}>{t("play_again")} <kbd aria-hidden="true" dir="ltr">␣</kbd></button>
        <button type="button" aria-pressed={site.ruling === "agree"} onClick={() => rule("agree")}>{t(open(site) ? "is_right" : "agree")} <kbd aria-hidden="true" dir="ltr">A</kbd></button>
        <button type="button" aria-pressed={site.ruling === "overrule"} onClick={() => rule("overrule")}>{t(open(site) ? "is_wrong" : "overrule")} <kbd aria-hidden="true" dir="ltr">O</kbd></button>
        <button type="button" class="quiet" aria-pressed={here === "text"} onClick={() => here === "text" ? noted() : note("text")}>{t("add_note")} <kbd aria-hidden="true" dir="ltr">N</kbd></button>
        <button type="button" class="quiet" aria-pressed={here === "voice"} onClick={() => here === "voice" ? noted() : note("voice")}>{t("voice_note")} <kbd aria-hidden="true" dir="ltr">V</kbd></button>
        {site.ruling && <button type="button" class="quiet" onClick={() => rule("")}>{t("undo")} <kbd aria-hidden="true" dir="ltr">U</kbd></button>}
        <span class="steps"><button type="button" class="quiet" disabled={now === 0} onClick={() => to(now - 1)}>{t("previous")} <kbd aria-hidden="true" dir="ltr">↑</kbd></button>
          <button type="button" class="quiet" disabled={now + 1 >= of.sites.length} onClick={() => to(now + 1)}>{t("next")} <kbd aria-hidden="true" dir="ltr">↓</kbd></button></span>
      </div>
      {here && <NoteBox key={site.at} of={of} at={site.at} word={site.word ?? ""} mode={here} drafts={drafts} draft={draft} close={noted} kept={kept} />}
      <ul class="notes-here">{of.notes.filter((one) => one.at === site.at).map((one) => <li key={one.id}><bdi>{one.text || t("voice_note")}</bdi></li>)}</ul>
    </article>}
    {of.sites.length > 1 && <ol class="site-list" aria-label={t("sites")}>{of.sites.map((one, n) => <li key={one.site}>
      <button type="button" class="quiet" aria-current={n === now ? "true" : undefined} onClick={() => to(n)}>
        <span class="noted-word" lang="ar" dir="rtl">{one.word}</span> <b style={{ borderColor: `var(--ink-${family(one.rule)})` }}>{in_lang(one, "name")}</b>
        <span class="faint">{telling(one)} · {ruling(one)}</span></button></li>)}</ol>}
    <Notes of={of} noting={noting?.whole ? noting.mode : null} drafts={drafts} draft={draft} open={() => setNoting({ mode: "text", whole: true })} close={noted} kept={kept}
      gone={(gone) => setOf((was) => was && { ...was, notes: was.notes.filter((one) => one.id !== gone) })} />
    <section aria-labelledby="marked"><h2 id="marked">{t("learner_marked")}</h2>
      {of.marks.length === 0 ? <p class="faint">{t("nothing_marked")}</p>
        : <ul class="marked">{of.marks.map((one) => <li key={one.at}>
          {one.word ? <span class="noted-word" lang="ar" dir="rtl">{one.word}</span> : <bdi>{one.at}</bdi>} {marked(one)}
          {!gone && one.end_ms !== null && <button type="button" class="quiet" aria-label={`${t("play_it")}: ${one.word ?? one.at}`} onClick={() => hear(one.start_ms!, one.end_ms!)}>{t("play_it")}</button>}
        </li>)}</ul>}</section>
    {of.findings.length > 0 && <section aria-labelledby="found"><h2 id="found">{t("findings")}</h2>
      <ul class="findings">{of.findings.map((one, n) => <li key={n}>{in_lang(one, "text")}</li>)}</ul></section>}
    <section class="sending" aria-labelledby="sending"><h2 id="sending">{t("send")}</h2>
      {sent ? <p>{t("sent_on")} {dayText(lang, of.sent_ms)}</p> : <p class="note">{t("send_lead")}</p>}
      {since && <p class="trouble" role="status">{t("sent_since")}</p>}
      <p class="row">
        {props.teaching && (!sent || since) && <button type="button" ref={sending} disabled={busy || !of.person} onClick={deliver}>{t(sent ? "send_again" : "send")} <kbd aria-hidden="true" dir="ltr">S</kbd></button>}
        {!props.teaching && <span class="faint">{t("only_teacher_sends")}</span>}
        <button type="button" class="quiet" onClick={next}>{t("next_submission")} <kbd aria-hidden="true" dir="ltr">]</kbd></button>
        {props.teaching && of.person && of.state === "heard" && !gone && <button type="button" class="quiet" disabled={busy || enrolled}
          onClick={() => void act(async () => { await send("POST", `people/${of.person}/enrol`, { submission: id }); setEnrolled(true); })}>{t(enrolled ? "enrol_done" : "enrol")}</button>}
        {props.teaching && <button type="button" class="quiet" onClick={() => {
          if (confirm(t("remove_submission_sure"))) void act(async () => { await send("DELETE", `submissions/${id}`); props.changed(); go(props.back); });
        }}>{t("remove_submission")}</button>}
      </p></section>
    <p class="note">{t("reminder")}</p>
    <p class="note keys">{t("desk_keys")}</p>
  </section>;
}
