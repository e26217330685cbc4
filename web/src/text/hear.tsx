// The moment of a take in which a place is recited: of the take that was chosen to publish.
import { useEffect, useRef, useState } from "preact/hooks";
import { address, get } from "../api";
import { go, useAsked, useDesk } from "../desk";
import type { Report, Take } from "../takes/types";

const margin_ms = 200;
const wordOf = (at: string) => at.split(":").slice(0, 3).join(":");

// Of chosen takes in this sura the first that holds the word; that of the passage itself before others.
async function find(at: string, passage: string, signal: AbortSignal) {
  const { takes } = await get<{ takes: Take[] }>("takes", {}, signal);
  const sura = `${at.split(":")[0]!}:`;
  const able = takes.filter((take) => take.chosen && take.report && take.passage.startsWith(sura));
  able.sort((a, b) => Number(b.passage === passage) - Number(a.passage === passage));
  for (const take of able) {
    const report = await get<Report>(`takes/${take.id}/report`, {}, signal);
    const word = report.words.find((one) => one.at === wordOf(at)), site = report.sites.find((one) => one.at === at);
    const part = site ?? word;
    if (part) return { take, from: Math.max(0, part.start_ms - margin_ms), to: part.end_ms + margin_ms };
  }
  return null;
}

export function HearThere(props: { at: string; passage: string }) {
  const { t } = useDesk();
  const audio = useRef<HTMLAudioElement>(null);
  const [playing, setPlaying] = useState(false);
  const { value, fresh } = useAsked(`${props.at} ${props.passage}`, (signal) => find(props.at, props.passage, signal));
  useEffect(() => { audio.current?.pause(); }, [props.at]);
  if (!fresh) return null;
  if (!value) return <p class="note">{t("no_take_here")}</p>;
  const { take, from, to } = value;
  const play = () => {
    const player = audio.current!;
    player.currentTime = from / 1000;
    void player.play().catch(() => {});
  };
  const watch = ({ currentTarget: player }: { currentTarget: HTMLAudioElement }) => { if (player.currentTime * 1000 >= to) player.pause(); };
  return <p class="hear-there">
    <audio ref={audio} preload="auto" src={address(`takes/${take.id}/audio`)} onTimeUpdate={watch}
      onPlay={() => setPlaying(true)} onPause={() => setPlaying(false)} />
    <button type="button" aria-pressed={playing} onClick={play}>{t("hear_there")}</button>
    <a href={`/takes/${take.id}?ms=${Math.round(from)}`} onClick={(event) => { event.preventDefault(); go(`/takes/${take.id}?ms=${Math.round(from)}`); }}>{t("open_take")}</a>
  </p>;
}
