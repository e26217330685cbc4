// The teacher's recitation of the passage: at pace and slowed, the voice as high as it was; the word
// that sounds is lit.
import type { RefObject } from "preact";
import { useEffect, useRef, useState } from "preact/hooks";
import { address, get } from "../api";
import { useAsked, useWords } from "../desk";
import { verseNumber, verseOf, type Given, type Timing } from "./types";
import { useVerseName } from "./verses";
import { mineWords } from "./words";

const rates = [[1, "normal"], [0.75, "slower"], [0.5, "slow"]] as const;

export function useTeacher(given: Given) {
  const audio = useRef<HTMLAudioElement>(null);
  const timings = useAsked<Timing[]>(given.take ? given.id : null, (signal) =>
    get<{ words: Timing[] }>(`mine/assignments/${given.id}/words`, {}, signal).then((found) => found.words)).value;
  // Where it stops by itself, in ms.
  const until = useRef(Infinity);
  const playFrom = (from_ms: number, until_ms = Infinity) => {
    const player = audio.current;
    if (!player) return;
    until.current = until_ms;
    player.currentTime = from_ms / 1000;
    void player.play().catch(() => {});
  };
  const playVerse = (verse: string) => {
    const of = timings?.filter((one) => verseOf(one.at) === verse) ?? [];
    if (of.length) playFrom(Math.max(0, of[0]!.start_ms - 100), of[of.length - 1]!.end_ms + 250);
  };
  return { audio, timings, until, playFrom, playVerse };
}

export function Teacher(props: { given: Given; teacher: ReturnType<typeof useTeacher>; leaf: RefObject<HTMLElement | null> }) {
  const t = useWords(mineWords);
  const { given } = props, { audio, timings, until, playVerse } = props.teacher;
  const [rate, setRate] = useState(1);
  const pace = () => {
    const player = audio.current;
    if (!player) return;
    player.preservesPitch = true;
    player.playbackRate = player.defaultPlaybackRate = rate;
  };
  useEffect(pace, [rate]);
  useEffect(() => {
    let frame = 0, lit: Element | null = null;
    const light = (at: string | null) => {
      const next = at ? props.leaf.current?.querySelector(`.word[data-at="${at}"]`) ?? null : null;
      if (next === lit) return;
      lit?.classList.remove("sounding");
      next?.classList.add("sounding");
      lit = next;
    };
    const tick = () => {
      const player = audio.current;
      if (player && !player.paused) {
        const ms = player.currentTime * 1000;
        light(timings?.find((one) => ms >= one.start_ms && ms < one.end_ms)?.at ?? null);
        if (ms > until.current) player.pause();
      } else if (player?.ended || until.current !== Infinity) light(null);
      frame = requestAnimationFrame(tick);
    };
    frame = requestAnimationFrame(tick);
    return () => { cancelAnimationFrame(frame); light(null); };
  }, [timings]);
  const verses = [...new Set(timings?.map((one) => verseOf(one.at)))].filter((verse) => verseNumber(verse) !== "0");
  const called = useVerseName(verses);
  if (!given.take) return <p class="faint">{t("no_take")}</p>;
  return <div class="teacher">
    <audio ref={audio} controls preload="metadata" aria-label={t("teacher_take")} src={address(`mine/assignments/${given.id}/audio`)}
      onLoadedMetadata={pace} onSeeking={(event) => { if (event.currentTarget.currentTime * 1000 > until.current) until.current = Infinity; }}
      onPause={(event) => { if (event.currentTarget.currentTime * 1000 >= until.current) until.current = Infinity; }} />
    <div class="choice" role="group" aria-label={t("pace")}>{rates.map(([one, name]) =>
      <button type="button" key={one} aria-pressed={rate === one} onClick={() => setRate(one)}>{t(name)}</button>)}</div>
    {verses.length > 1 && <div class="choice verses" role="group" aria-label={t("by_verse")}>{verses.map((verse) =>
      <button type="button" key={verse} onClick={() => playVerse(verse)} aria-label={`${t("step_listen")}: ${t("verse")} ${called(verse)}`}><bdi>{called(verse)}</bdi></button>)}</div>}
    {timings && <p class="note">{t("tap_to_hear")}</p>}
  </div>;
}
