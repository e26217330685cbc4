// The strokes of the measure notation, for the overlay. Their shapes are the sheet's own and come with
// the reading (src/typeset/sign_shape.c); here they are only put to their place and length.

// x is a + b × length; a wave goes to (x, y), bowed first by bow, its handles at parts of a half wave.
type Step = ["M" | "L" | "C" | "Z" | "W", ...number[]];
interface Piece { from: number; strokes: { width: number | null; dash: number[]; path: Step[] }[] }
export interface Sign {
  least: number; tall: number; over: boolean; spans: "host" | "toward" | "letters" | null; wave: number;
  whole: Piece[]; opens_left?: Piece[]; opens_right?: Piece[];
}
export interface Stroke { d: string; filled: boolean; width: number | null; dash: string | null }
// A part of a sign that goes on in the next line, or comes from the one before.
export type Open = "whole" | "opens_left" | "opens_right";

// From x0 to x1, from y down; all in px of a type size em.
export function strokesOf(sign: Sign, open: Open, em: number, x0: number, x1: number, y: number): Stroke[] {
  const length = (x1 - x0) / em, pieces = sign[open] ?? sign.whole;
  const piece = pieces.findLast((one) => one.from <= length + 1e-6) ?? pieces[0]!;
  const n = (value: number) => value.toFixed(1);
  const across = (a: number, b: number) => x0 + (a + b * length) * em, down = (at: number) => y + at * em;
  const path = (steps: Step[]) => {
    let d = "", x = 0;
    for (const [verb, ...of] of steps) {
      if (verb === "Z") { d += "Z"; continue; }
      if (verb === "W") {
        const to = across(of[0]!, of[1]!), [, , low, bow, early, late] = of as [number, number, number, number, number, number];
        const halves = 2 * Math.max(1, Math.round(Math.abs(x - to) / (sign.wave * em))), step = (to - x) / halves;
        for (let i = 0; i < halves; i++, x += step) {
          const crest = n(down(low + (i % 2 ? -bow : bow)));
          d += `C${n(x + step * early)} ${crest} ${n(x + step * late)} ${crest} ${n(x + step)} ${n(down(low))}`;
        }
        continue;
      }
      d += verb;
      for (let k = 0; k < of.length; k += 3) d += `${k ? " " : ""}${n(x = across(of[k]!, of[k + 1]!))} ${n(down(of[k + 2]!))}`;
    }
    return d;
  };
  return piece.strokes.map((one) => ({
    d: path(one.path), filled: one.width === null, width: one.width === null ? null : one.width * em,
    dash: one.dash.length ? one.dash.map((part) => n(part * em)).join(" ") : null,
  }));
}
