// One learner, one rule, over time, along a ruler: the line is what is believed, the band how surely.
import type { Known } from "./standing";

const w = 112, h = 44, pad = 3;
export function Strip({ of, from, to, ink }: { of: Pick<Known, "course" | "known" | "low" | "high" | "heard">; from: number; to: number; ink: string }) {
  const x = (ms: number) => pad + (to > from ? (ms - from) / (to - from) : 1) * (w - 2 * pad);
  const y = (share: number) => h - 9 - Math.max(0, Math.min(1, share)) * (h - 13);
  const course = of.course?.length ? of.course : [{ made_ms: to, known: of.known, low: of.low, high: of.high }];
  // A single evening is a stroke of its own width, not nothing.
  const points = course.length > 1 ? course.map((one) => ({ ...one, x: x(one.made_ms) })) : [{ ...course[0]!, x: w - 20 }, { ...course[0]!, x: w - pad }];
  const line = points.map((one, n) => `${n ? "L" : "M"}${one.x.toFixed(1)} ${y(one.known).toFixed(1)}`).join("");
  const band = points.map((one, n) => `${n ? "L" : "M"}${one.x.toFixed(1)} ${y(one.high).toFixed(1)}`).join("")
    + [...points].reverse().map((one) => `L${one.x.toFixed(1)} ${y(one.low).toFixed(1)}`).join("") + "Z";
  return <svg class="strip" viewBox={`0 0 ${w} ${h}`} width={w} height={h} aria-hidden="true">
    <path class="strip-ruler" d={`M${pad} ${h - 7}H${w - pad}${(of.course ?? []).map((one) => `M${x(one.made_ms).toFixed(1)} ${h - 7}v5`).join("")}`} />
    {of.heard > 0 && <><path class="strip-band" d={band} style={{ fill: ink }} /><path class="strip-line" d={line} style={{ stroke: ink }} /></>}
  </svg>;
}

// As it stands now, on a ruler of its own: the tick is what is believed, the band how far it may be out.
export function Span({ of, ink }: { of: Pick<Known, "known" | "low" | "high">; ink: string }) {
  return <svg class="span" aria-hidden="true" viewBox="0 0 104 12" width="104" height="12">
    <path class="strip-ruler" d="M2 6H102M2 6v4M52 6v3M102 6v4" />
    <path class="span-band" style={{ stroke: ink }} d={`M${2 + of.low * 100} 6H${2 + of.high * 100}`} />
    <path class="strip-line" style={{ stroke: ink }} d={`M${2 + of.known * 100} 1V11`} />
  </svg>;
}
