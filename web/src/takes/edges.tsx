// Where words and sounds begin, to be moved by hand: dragged, or with the arrow keys 10 ms at a time.
import { useState } from "preact/hooks";
import { useDesk } from "../desk";
import type { Pin, Report } from "./types";

const step_ms = 10, leap_ms = 50, least_ms = 10;
interface Edge { at: string; sound: number | null; text: string; ms: number; least: number; most: number; moved: boolean }
const same = (a: { at: string; sound: number | null }, b: { at: string; sound: number | null }) => a.at === b.at && (a.sound ?? 0) === (b.sound ?? 0);

// Every edge lies between its neighbours; what was moved lies where it was put.
export function edgesOf(report: Report, pins: Pin[]): Edge[] {
  const edges: Edge[] = [];
  let word = -1, number = 0;
  for (const sound of report.sounds) {
    const of = report.words[sound.word];
    if (!of) continue;
    number = sound.word === word ? number + 1 : 0;
    word = sound.word;
    const edge = { at: of.at, sound: number || null, text: number ? sound.ipa : of.text };
    const pin = pins.find((one) => same(one, edge));
    edges.push({ ...edge, ms: pin?.ms ?? (number ? sound.start_ms : of.start_ms), least: 0, most: report.duration_ms, moved: !!pin });
  }
  edges.forEach((edge, n) => {
    edge.least = n ? edges[n - 1]!.ms + least_ms : 0;
    edge.most = n + 1 < edges.length ? edges[n + 1]!.ms - least_ms : report.duration_ms;
  });
  return edges;
}

export function Edges(props: { report: Report; pins: Pin[]; from: number; to: number; whole: number; pin: (pin: Pin) => void }) {
  const { t } = useDesk();
  const { from, to, whole } = props;
  const [held, setHeld] = useState<{ key: string; ms: number } | null>(null);
  const within = (edge: Edge, ms: number) => Math.round(Math.max(edge.least, Math.min(edge.most, ms)));
  return <>{edgesOf(props.report, props.pins).filter((edge) => edge.ms >= from && edge.ms < to).map((edge) => {
    const key = `${edge.at} ${edge.sound ?? 0}`, ms = held?.key === key ? held.ms : edge.ms;
    const put = (next: number) => props.pin({ at: edge.at, sound: edge.sound, ms: within(edge, next) });
    const underHand = (event: PointerEvent) => {
      const frame = (event.currentTarget as HTMLElement).parentElement!.getBoundingClientRect();
      return within(edge, from + (event.clientX - frame.left) / frame.width * whole);
    };
    return <i key={key} class={`edge${edge.sound ? " of-sound" : ""}${edge.moved ? " moved" : ""}`} role="slider" tabindex={0}
      aria-label={`${t("begins")} ${edge.text} ${edge.at}`} aria-valuenow={Math.round(ms)} aria-valuemin={Math.round(edge.least)} aria-valuemax={Math.round(edge.most)}
      aria-valuetext={`${(ms / 1000).toFixed(2)} s`} style={{ left: `${(ms - from) / whole * 100}%` }}
      onClick={(event) => event.stopPropagation()}
      onPointerDown={(event) => { event.currentTarget.setPointerCapture(event.pointerId); setHeld({ key, ms: edge.ms }); }}
      onPointerMove={(event) => { if (held?.key === key) setHeld({ key, ms: underHand(event) }); }}
      onPointerUp={(event) => { if (held?.key === key) { const ms = underHand(event); setHeld(null); if (ms !== Math.round(edge.ms)) put(ms); } }}
      onPointerCancel={() => setHeld(null)}
      onKeyDown={(event) => {
        const way = event.key === "ArrowRight" || event.key === "ArrowUp" ? 1 : event.key === "ArrowLeft" || event.key === "ArrowDown" ? -1 : 0;
        if (!way) return;
        event.preventDefault();
        put(edge.ms + way * (event.shiftKey ? leap_ms : step_ms));
      }} />;
  })}</>;
}
