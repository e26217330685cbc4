// One thing given out: listen, read, record, listen back and mark, hand in.
import { useEffect, useMemo, useRef, useState } from "preact/hooks";
import { get, once, type Ink, type Reading, type Rules } from "../api";
import { go, remember, remembered, useAsked, useDesk, useWords } from "../desk";
import { Passage, type Chosen } from "../text/passage";
import type { Drawer } from "./drawer";
import { askToKeep, newId, partSound, putSound, type Mark, type Work } from "./kept";
import { Became, useDue } from "./page";
import { inkOf, readingOf } from "./lineless";
import { NotSent } from "./unsent";
import { Recording } from "./recording";
import { joined } from "./sound";
import { staged } from "./stage";
import { Teacher, useTeacher } from "./teacher";
import { verseNumber, verseOf, wordOf, type Given } from "./types";
import { useVerseName } from "./verses";
import { mineWords } from "./words";

const unmarked = () => false;

export function Assignment(props: { person: string; given: Given; drawer: Drawer }) {
  const t = useWords(mineWords);
  const { lang, in_lang } = useDesk();
  const due = useDue();
  const { given, drawer } = props;
  const leaf = useRef<HTMLElement>(null);
  const [rules, setRules] = useState<Rules | null>(null);
  useEffect(() => { once<Rules>("rules").then(setRules, () => {}); }, []);
  const reading = useAsked<Reading>(`${given.passage} ${lang}`, (signal) => get(...readingOf(given, lang), signal));
  const ink = useAsked<Ink>(given.stage <= 1 ? given.passage : null, (signal) => get(...inkOf(given), signal)).value;
  const now = reading.value;
  const teacher = useTeacher(given);
  const stage = useMemo(() => staged(given, now, rules), [given, now, rules]);

  const [byVerse, setByVerse] = useState(() => remembered("record-by") === "verse");
  const [pen, setPen] = useState<Mark["mark"]>("unsure");
  const [busy, setBusy] = useState(false);
  const [at, setAt] = useState<string | null>(null); // what is being recorded
  const [trouble, setTrouble] = useState("");
  const work = drawer.works.find((one) => one.assignment === given.id && !one.handed);
  const verses = [...new Set(now?.words.map((word) => verseOf(word.verse)))].filter((verse) => verseNumber(verse) !== "0");
  const called = useVerseName(verses);
  const single = verses.length < 2;
  const wanted = single || !byVerse ? [""] : verses;
  const parts = wanted.map((of) => work?.parts.filter((part) => part.of === of && part.pieces > 0).at(-1));
  const missing = wanted.filter((_, n) => !parts[n]);
  const recorded = missing.length < wanted.length;

  const start = (): Work => {
    askToKeep();
    return work ?? { id: newId(), person: props.person, assignment: given.id, title: given.title, made_ms: Date.now(), parts: [], marks: [],
      handed: false, type: "", bytes: 0, upload: "", have: 0, trouble: "" };
  };
  const hearFrom = (chosen: Chosen | null) => {
    const from = chosen && teacher.timings?.find((one) => one.at === now!.words[chosen.word]!.at);
    if (from) teacher.playFrom(from.start_ms);
  };
  const mark = (chosen: Chosen | null) => {
    if (!chosen || !now || !work) return;
    const at = chosen.letter === null ? now.words[chosen.word]!.at : now.letters[chosen.letter]!.at;
    const before = work.marks.find((one) => one.at === at);
    const others = work.marks.filter((one) => one.at !== at);
    drawer.put({ ...work, marks: before?.mark === pen ? others : [...others, { at, mark: pen }] });
  };
  const lettersOf = (mark: Mark["mark"]) => (work?.marks ?? []).filter((one) => one.mark === mark).flatMap((one) => {
    const letter = now?.letters.findIndex((known) => known.at === one.at) ?? -1;
    if (letter >= 0) return [letter];
    const word = now?.words.find((known) => known.at === one.at);
    return word ? Array.from({ length: word.letters[1] }, (_, n) => word.letters[0] + n) : [];
  });
  const handIn = async () => {
    if (!work) return;
    setBusy(true);
    setTrouble("");
    try {
      const sound = await joined(await Promise.all(parts.map((part) => partSound(part!))));
      const handed: Work = { ...work, handed: true, type: sound.type, bytes: sound.size, upload: "", have: 0 };
      await putSound(handed, await sound.arrayBuffer());
      drawer.put(handed);
      drawer.send();
      go("/mine");
    } catch (error) { setTrouble((error as Error).message); }
    setBusy(false);
  };
  const nasal = now?.sites.some((site) => site.nasal);
  const waiting = drawer.works.filter((one) => one.assignment === given.id && one.handed);
  return <article class="assignment">
    <h1><bdi>{given.title || given.passage}</bdi></h1>
    <p class="faint"><bdi>{given.passage}</bdi>{given.due_ms > 0 && <> · {due(given.due_ms)}</>}</p>
    {given.attend && <p class="attend"><b>{t("attend")}</b> <span dir="auto">{given.attend}</span></p>}
    {waiting.map((one) => <NotSent key={one.id} work={one} drawer={drawer} />)}
    <section aria-labelledby="listen"><h2 id="listen">{t("step_listen")}</h2>
      <Teacher given={given} teacher={teacher} leaf={leaf} /></section>
    <section ref={leaf} class="leaf" aria-label={t("step_read")} aria-busy={!reading.fresh}>
      {reading.trouble && <p class="trouble" role="alert">{reading.trouble}</p>}
      {!now && !reading.trouble && <p role="status">{t("making")}</p>}
      {now && rules && <Passage reading={now} ink={ink} rules={rules} shown={stage.shown} chosen={null} choose={hearFrom} dots={stage.dots} />}
      {stage.numbers.length > 0 && <p class="places-here">{t("places_here")}: {stage.numbers.map(([verse, count]) =>
        <span key={verse}>{t("verse")} <bdi>{called(verse)}</bdi>: <b>{count}</b></span>)}</p>}
      {stage.named.length > 0 && <ul class="legend" aria-label={t("names_here")}>{stage.named.map((rule) =>
        <li key={rule.rule}><i class="swatch" style={{ background: `var(--ink-${rule.family})` }} />{in_lang(rule, "name")}</li>)}</ul>}
    </section>
    {given.withdrawn_ms > 0 && <p class="trouble">{t("gone")}</p>}
    {!given.withdrawn_ms && <section aria-labelledby="record"><h2 id="record">{t("step_record")}</h2>
      <p class="note">{t("record_lead")}</p>
      {!single && <div class="choice" role="group" aria-label={t("how_record")}>
        <button type="button" aria-pressed={!byVerse} onClick={() => { setByVerse(false); remember("record-by", "whole"); }}>{t("whole")}</button>
        <button type="button" aria-pressed={byVerse} onClick={() => { setByVerse(true); remember("record-by", "verse"); }}>{t("by_verse")}</button></div>}
      <ol class="parts">{wanted.map((of, n) => <Recording key={of} of={of} called={called(of)} part={parts[n]} start={start} drawer={drawer}
        blocked={at !== null && at !== of} running={(is) => setAt(is ? of : null)}
        words={of ? now?.words.filter((word) => verseOf(word.verse) === of).map((word) => word.display).join(" ") ?? "" : ""}
        hear={of && teacher.timings?.some((one) => verseOf(one.at) === of) ? () => teacher.playVerse(of) : null} />)}</ol>
    </section>}
    {recorded && work && <section aria-labelledby="check"><h2 id="check">{t("step_check")}</h2>
      <p class="note">{t("mark_lead")}</p>
      <div class="choice" role="group" aria-label={t("mark_with")}>{(["unsure", "wrong"] as const).map((one) =>
        <button type="button" key={one} class={`pen-${one}`} aria-pressed={pen === one} onClick={() => setPen(one)}>{t(one)}</button>)}</div>
      {now && rules && <div class="leaf to-mark"><Passage reading={now} ink={null} rules={rules} shown={unmarked} chosen={null} choose={mark}
        noted={lettersOf("unsure")} wrong={lettersOf("wrong")} /></div>}
      <ul class="marked" aria-live="polite">{work.marks.map((one) => {
        const word = now?.words.find((known) => known.at === wordOf(one.at)), letter = now?.letters.find((known) => known.at === one.at);
        return <li key={one.at}><span class="noted-word" lang="ar" dir="rtl">{letter ? `${letter.base} – ` : ""}{word?.display}</span> {t(one.mark)}{" "}
          <button type="button" class="quiet" aria-label={`${t("take_away")} ${word?.display ?? one.at}`}
            onClick={() => drawer.put({ ...work, marks: work.marks.filter((other) => other.at !== one.at) })}>×</button></li>;
      })}</ul></section>}
    {recorded && !given.withdrawn_ms && <section aria-labelledby="send"><h2 id="send">{t("step_send")}</h2>
      {missing.length > 0 && <p class="note">{t("verse_missing")} <bdi>{missing.map(called).join(lang === "ar" ? "، " : ", ")}</bdi></p>}
      <p class="note">{t("hand_in_lead")}</p>
      <button type="button" class="hand-in" disabled={busy || missing.length > 0} onClick={() => void handIn()}>{t(busy ? "making" : "hand_in")}</button>
      {trouble && <p class="trouble" role="alert">{trouble}</p>}
    </section>}
    {given.submissions.length > 0 && <section aria-labelledby="handed"><h2 id="handed">{t("handed")}</h2>
      <Became given={given} drawer={{ ...drawer, works: [] }} /></section>}
    {nasal && <p><a href={`/mine/pinch/${given.id}`} onClick={(event) => { event.preventDefault(); go(`/mine/pinch/${given.id}`); }}>{t("pinch")}</a></p>}
    <p class="note">{t("rest")}</p>
  </article>;
}
