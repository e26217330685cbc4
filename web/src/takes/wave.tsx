// A take line by line: the waveform, its words and sites beneath, as long as they were held.
import { useEffect, useRef, useState } from "preact/hooks";
import { address, get } from "../api";
import { Edges } from "./edges";
import { useAsked, useDesk } from "../desk";
import type { Pin, Report, Take } from "./types";

interface Peaks { start_ms: number; end_ms: number; low: number[]; high: number[] }

function Line(props: {
  take: Take; report: Report | null; from: number; to: number; whole: number; now: number; picked: number | null;
  familyOf: Map<string, string>; seek: (ms: number) => void; pick: (site: number) => void;
  pins: Pin[] | null; pin: (pin: Pin) => void;
}) {
  const { theme } = useDesk();
  const { from, to, whole, report } = props;
  const [peaks, setPeaks] = useState<Peaks | null>(null);
  useEffect(() => {
    const stop = new AbortController();
    get<Peaks>(`takes/${props.take.id}/peaks`, { start_ms: from, end_ms: to, columns: 500 }, stop.signal).then(setPeaks, () => {});
    return () => stop.abort();
  }, [props.take.id, from, to]);
  const x = (ms: number) => (ms - from) / whole * 1000;
  const within = (part: { start_ms: number; end_ms: number }) => part.end_ms > from && part.start_ms < to;
  let shape = "";
  if (peaks && peaks.high.length) {
    const step = x(peaks.end_ms) / peaks.high.length;
    shape = "M" + peaks.high.map((high, n) => `${(n * step).toFixed(1)} ${(34 - high / 127 * 32).toFixed(1)}`).join("L")
      + "L" + peaks.low.map((low, n) => `${(n * step).toFixed(1)} ${(34 - low / 127 * 32).toFixed(1)}`).reverse().join("L") + "Z";
  }
  const left = (ms: number) => `${Math.max(0, x(ms)) / 10}%`;
  return <div class="wave-line" dir="ltr" onClick={(event) => {
    const frame = event.currentTarget.getBoundingClientRect();
    props.seek(from + (event.clientX - frame.left) / frame.width * whole);
  }}>
    <svg viewBox="0 0 1000 68" preserveAspectRatio="none" aria-hidden="true"><path d={shape} /></svg>
    <img class="wave-tones" alt="" loading="lazy" draggable={false} style={{ width: `${x(to) / 10}%` }}
      src={address(`takes/${props.take.id}/spectrogram.png`, { start_ms: Math.round(from), end_ms: Math.round(to), width: 800, theme })} />
    {report?.words.filter(within).map((word, n) => <span key={n} class="wave-word" lang="ar" dir="rtl"
      style={{ left: left(word.start_ms), width: `${Math.max(0.5, (Math.min(to, word.end_ms) - Math.max(from, word.start_ms)) / whole * 100)}%` }}
    ><span>{word.start_ms >= from ? word.text : ""}</span></span>)}
    {report?.sounds.map((sound, n) => sound.start_ms >= from && sound.start_ms < to && <span key={n} class="wave-sound" aria-hidden="true"
      style={{ left: left(sound.start_ms), width: `${(Math.min(to, sound.end_ms) - sound.start_ms) / whole * 100}%` }}>{sound.ipa}</span>)}
    {report?.sites.map((site, n) => within(site) && <i key={n} class={props.picked === n ? "wave-site picked-site" : "wave-site"}
      title={`${site.rule} ${site.at}`} onClick={(event) => { event.stopPropagation(); props.pick(n); }}
      style={{ left: left(site.start_ms), width: `${(Math.min(to, site.end_ms) - Math.max(from, site.start_ms)) / whole * 100}%`,
        background: `var(--ink-${props.familyOf.get(site.rule) ?? "seam"})` }} />)}
    {report && props.pins && <Edges report={report} pins={props.pins} from={from} to={to} whole={whole} pin={props.pin} />}
    {props.now >= from && props.now < to && <i class="playhead" style={{ left: left(props.now) }} />}
  </div>;
}

export function Wave(props: {
  take: Take; report: Report | null; now: number; picked: number | null; familyOf: Map<string, string>;
  seek: (ms: number) => void; pick: (site: number) => void; pins: Pin[] | null; pin: (pin: Pin) => void;
}) {
  const { t } = useDesk();
  const box = useRef<HTMLDivElement>(null);
  const [per, setPer] = useState(8000);
  useEffect(() => {
    const watch = new ResizeObserver(() => { if (box.current) setPer(Math.max(3000, Math.round(box.current.clientWidth / 110) * 1000)); });
    watch.observe(box.current!);
    return () => watch.disconnect();
  }, []);
  // How long a take is, is known once it was heard; of others the sound itself tells.
  const { value: sound, trouble: unheard } = useAsked<{ seconds: number }>(props.take.seconds === null ? props.take.id : null,
    (signal) => get(`takes/${props.take.id}/peaks`, { columns: 1 }, signal));
  const end = (props.take.seconds ?? sound?.seconds ?? 0) * 1000;
  // As a long take would draw thousands of columns, ten lines at a time.
  const [page, setPage] = useState(0);
  // A line ends before a word that would not fit, as on a page.
  const lines: [number, number][] = [];
  for (let from = 0; from < end; from = lines[lines.length - 1]![1]) {
    let to = Math.min(end, from + per);
    const cut = props.report?.words.find((word) => word.start_ms < to && word.end_ms > to);
    if (cut && cut.start_ms > from + per / 3) to = cut.start_ms;
    lines.push([from, to]);
  }
  const pages = Math.ceil(lines.length / 10), here = Math.max(0, Math.min(page, pages - 1));
  const playing = Math.max(0, Math.floor(lines.findIndex(([from, to]) => props.now >= from && props.now < to) / 10));
  useEffect(() => setPage(playing), [playing]);
  if (unheard !== null && !end) return null; // the take says why it was refused
  return <section class="leaf"><div class="wave" ref={box} role="group" aria-label={t("waveform")}>
    {lines.slice(here * 10, here * 10 + 10).map(([from, to]) =>
      <Line key={from} {...props} from={from} to={to} whole={per} />)}
    {pages > 1 && <p class="steps">
      <button type="button" class="quiet" disabled={here === 0} onClick={() => setPage(here - 1)}>{t("before")}</button>
      <span>{here + 1} / {pages}</span>
      <button type="button" class="quiet" disabled={here + 1 >= pages} onClick={() => setPage(here + 1)}>{t("after")}</button></p>}
  </div></section>;
}
