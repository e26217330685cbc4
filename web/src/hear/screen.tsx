// Hear: while someone recites, one tap on a letter and one on what was heard there.
import { useCallback, useEffect, useMemo, useState } from "preact/hooks";
import { drawn, get, once, type Reading, type Resolved, type Rules } from "../api";
import { go, remember, remembered, useAsked, useDesk, type Place } from "../desk";
import { Passage, type Chosen } from "../text/passage";
import type { Key } from "../words";
import { dayOf, useHearings, type Hearing } from "./kept";

interface Faults {
  faults: { fault: string; name: string; name_ar: string; grade: string }[];
  letters: { at: string; faults: { fault: number; rule: string | null }[] }[];
}
// In this order under the hand: it learns the place.
const anywhere = ["letter", "vowel", "short", "long", "nasal", "echo", "heavy", "light", "double", "left_out", "added", "stop", "well", "other"] as const;
const figures = "1234567890";
const unmarked = () => false;

export function HearScreen({ place }: { place: Place }) {
  const { t, lang, in_lang } = useDesk();
  const passage = place.path[1] ?? remembered("passage") ?? "67:1-5";
  const then = place.query.get("day"), thenWho = place.query.get("who") ?? "";
  const [rules, setRules] = useState<Rules | null>(null);
  const [typed, setTyped] = useState(passage);
  const [who, setWho] = useState(() => remembered("who") ?? "");
  const [chosen, setChosen] = useState<Chosen | null>(null);
  const [refused, setRefused] = useState("");
  const hearings = useHearings();
  useEffect(() => { once<Rules>("rules").then(setRules, () => {}); }, []);
  useEffect(() => { setTyped(passage); setChosen(null); setRefused(""); }, [passage]);
  const reading = useAsked<Reading>(`${passage} ${lang}`, (signal) => get("reading", drawn({ passage, lang }), signal));
  const faults = useAsked<Faults>(passage, (signal) => get("faults", { passage }, signal)).value;
  const now = reading.value;
  useEffect(() => { if (now) remember("passage", now.passage); }, [now]);

  const day = then ?? dayOf(new Date().toISOString()), name = then ? thenWho : who;
  const noted = hearings.all.filter((one) => dayOf(one.date) === day && one.who === name);
  const letterOf = useMemo(() => new Map(now?.letters.map((letter, n) => [letter.at, n])), [now]);
  const wordOf = useMemo(() => new Map(now?.words.map((word, n) => [word.at, n])), [now]);
  const flags = useMemo(() => noted.flatMap((one) => {
    const letter = letterOf.get(one.at), word = now?.words[wordOf.get(one.at) ?? -1];
    return letter !== undefined ? [letter] : word ? Array.from({ length: word.letters[1] }, (_, n) => word.letters[0] + n) : [];
  }), [noted.map((one) => one.at).join(), letterOf]);
  const choose = useCallback((next: Chosen | null) => setChosen(next), []);

  const word = chosen && now?.words[chosen.word], letter = chosen && chosen.letter !== null ? now?.letters[chosen.letter] : null;
  const at = letter?.at ?? word?.at;
  const often = useMemo(() => {
    if (!faults || !now || !word) return [];
    const places = letter ? [letter.at] : now.letters.slice(word.letters[0], word.letters[0] + word.letters[1]).map((one) => one.at);
    const found = faults.letters.filter((one) => places.includes(one.at)).flatMap((one) => one.faults.map((fault) => ({ ...fault, at: one.at })));
    return found.filter((one, n) => found.findIndex((other) => other.fault === one.fault) === n);
  }, [faults, now, word, letter]);
  const say = (what: string) => {
    const known = anywhere.find((one) => one === what), fault = faults?.faults.find((one) => one.fault === what);
    return known ? t(`heard_${known}` as Key) : fault ? in_lang(fault, "name") : what;
  };
  const note = (what: string, rule: string | null = null, where = at) => {
    if (where && !then) hearings.add({ at: where, what, who, rule });
  };
  const last = then ? undefined : noted[0];
  const undo = () => { if (last) hearings.change(last, { undone: true }); };
  const onKey = (event: KeyboardEvent) => {
    if ((event.target as HTMLElement).matches("input, textarea, select") || event.ctrlKey || event.metaKey || event.altKey) return;
    const figure = figures.indexOf(event.key);
    if (figure >= 0 && at) note(anywhere[figure]!);
    else if (event.key === "u" || event.key === "U" || event.key === "ع") undo();
    else return;
    event.preventDefault();
  };
  const open = async () => {
    setRefused("");
    try {
      go(`/hear/${(await get<Resolved>("passage", { q: typed })).passage}`);
    } catch (error) { setRefused((error as Error).message); }
  };
  const evening = (text: string) => new Date(`${text}T12:00:00`).toLocaleDateString(lang === "ar" ? "ar-u-nu-latn" : "en-GB", { day: "numeric", month: "long", year: "numeric" });
  return <div class="hear" onKeyDown={onKey}>
    <h1 class="unseen">{t("hear")}</h1>
    <form class="bar" onSubmit={(event) => { event.preventDefault(); void open(); }}>
      <label>{t("passage")}<input type="text" dir="auto" value={typed} onInput={(event) => setTyped(event.currentTarget.value)} /></label>
      <button type="submit">{t("open")}</button>
      <label>{t("who")}<input type="text" dir="auto" value={who} placeholder={t("learner_hint")} maxLength={40}
        onInput={(event) => { setWho(event.currentTarget.value); remember("who", event.currentTarget.value); }} /></label>
    </form>
    <p class="lead">{t("hear_lead")}</p>
    {(refused || reading.trouble) && <p class="trouble" role="alert">{refused || reading.trouble}</p>}
    {then && <p class="row"><b>{t("noted_then")} <bdi>{evening(then)}</bdi> · <bdi>{thenWho || t("nobody")}</bdi></b>
      <a href={`/hear/${passage}`} onClick={(event) => { event.preventDefault(); go(`/hear/${passage}`); }}>{t("back_to_today")}</a></p>}
    <div class="hear-desk">
      <section class="leaf" aria-label={t("passage")} aria-busy={!reading.fresh}>
        {!now && !reading.trouble && <p role="status">{t("waiting")}</p>}
        {now && rules && <Passage large reading={now} ink={null} rules={rules} shown={unmarked} chosen={chosen} choose={choose} noted={flags} />}
      </section>
      {!then && <section class="palette" aria-label={t("what_was_heard")}>
        <div class="palette-head">
          {word ? <p class="scripture line" lang="ar" dir="rtl">{word.display}</p> : <p>{t("tap_letter")}</p>}
          <button type="button" class="quiet" disabled={!last} onClick={undo}>{t("undo_last")}</button>
        </div>
        {word && now && <div class="letters" role="group" aria-label={t("letters_of_word")}>
          <button type="button" aria-pressed={chosen.letter === null} onClick={() => setChosen({ ...chosen, letter: null })}>{t("whole_word")}</button>
          {now.letters.slice(word.letters[0], word.letters[0] + word.letters[1]).map((one, n) =>
            <button type="button" key={one.at} lang="ar" class="letter" aria-pressed={chosen.letter === word.letters[0] + n}
              onClick={() => setChosen({ ...chosen, letter: word.letters[0] + n })}>{one.base}</button>)}</div>}
        {word && often.length > 0 && <><h2>{t("often_here")}</h2>
          <div class="taps">{often.map((one) => { const fault = faults!.faults[one.fault]!; return <button type="button" key={fault.fault}
            onClick={() => note(fault.fault, one.rule, letter?.at ?? one.at)}>{in_lang(fault, "name")}</button>; })}</div></>}
        {word && <><h2>{t("anywhere")}</h2>
          <div class="taps">{anywhere.map((what, n) => <button type="button" key={what} onClick={() => note(what)}>
            {n < figures.length && <kbd aria-hidden="true">{figures[n]}</kbd>}{say(what)}</button>)}</div></>}
      </section>}
    </div>
    {hearings.pending.size > 0 && hearings.trouble && <p class="trouble" role="alert">{hearings.pending.size} {t("not_sent")} (<bdi>{hearings.trouble}</bdi>)</p>}
    <Noted title={then ? `${t("noted_then")} ${evening(then)}` : t("noted_now")} list={noted} say={say}
      wordAt={(one) => now?.words[wordOf.get(one.at.split(":").slice(0, 3).join(":")) ?? -1]?.display ?? ""}
      change={hearings.change} show={(one) => {
        const letter = letterOf.get(one.at), word = letter !== undefined ? now!.letters[letter]!.word : wordOf.get(one.at);
        if (word !== undefined) setChosen({ word, letter: letter ?? null });
      }} />
    <Earlier all={hearings.all} evening={evening} />
    <p class="note keys">{t("hear_keys")}</p>
  </div>;
}

function Noted(props: {
  title: string; list: Hearing[]; say: (what: string) => string; wordAt: (one: Hearing) => string;
  change: (one: Hearing, what: Partial<Hearing>, typing?: boolean) => void; show: (one: Hearing) => void;
}) {
  const { t } = useDesk();
  return <section aria-label={props.title}>
    <h2>{props.title}</h2>
    <div aria-live="polite">{props.list.length === 0 && <p class="faint">{t("nothing_noted")}</p>}</div>
    <ol class="take-list noted-list">{props.list.map((one) => <li key={one.id}>
      <button type="button" class="quiet" onClick={() => props.show(one)}><bdi>{one.at}</bdi></button>
      <span class="noted-word" lang="ar" dir="rtl">{props.wordAt(one)}</span>
      <b>{props.say(one.what)}</b>
      <input type="text" dir="auto" aria-label={`${t("note_for")} ${one.at}`} placeholder={t("note_for")} value={one.note} maxLength={500}
        onInput={(event) => props.change(one, { note: event.currentTarget.value }, true)} onChange={(event) => props.change(one, { note: event.currentTarget.value })} />
      <button type="button" class="quiet" aria-label={`${t("take_back")} ${one.at} ${props.say(one.what)}`} onClick={() => props.change(one, { undone: true })}>{t("take_back")}</button>
    </li>)}</ol>
  </section>;
}

// An evening with one learner in one sura, from the first verse noted to the last.
function Earlier(props: { all: Hearing[]; evening: (day: string) => string }) {
  const { t } = useDesk();
  const today = dayOf(new Date().toISOString());
  const sittings = new Map<string, { day: string; who: string; sura: number; first: number; last: number; count: number }>();
  for (const one of props.all) {
    const day = dayOf(one.date), [sura, verse] = one.at.split(":").map(Number) as [number, number];
    const key = `${day} ${sura} ${one.who}`, known = sittings.get(key);
    if (known) { known.first = Math.min(known.first, verse); known.last = Math.max(known.last, verse); known.count++; }
    else sittings.set(key, { day, who: one.who, sura, first: verse, last: verse, count: 1 });
  }
  if (sittings.size === 0) return null;
  return <section aria-label={t("earlier")} class="earlier">
    <h2>{t("earlier")}</h2>
    <ol class="take-list">{[...sittings].map(([key, one]) => {
      const passage = `${one.sura}:${Math.max(1, one.first)}${one.last > Math.max(1, one.first) ? `-${one.last}` : ""}`;
      const to = one.day === today ? `/hear/${passage}` : `/hear/${passage}?day=${one.day}&who=${encodeURIComponent(one.who)}`;
      return <li key={key}><a href={to} onClick={(event) => {
        event.preventDefault();
        if (one.day === today) remember("who", one.who);
        go(to);
      }}><bdi>{props.evening(one.day)}</bdi> · <bdi>{passage}</bdi></a>
        <span class="faint"><bdi>{one.who || t("nobody")}</bdi> · {one.count} {t("places_noted")}</span></li>;
    })}</ol>
  </section>;
}
