// Where letters lie in the browser's own layout, and where marks go: each under the lowest ink above
// it, as on the sheet. The text itself is never touched.
import type { Ink, Reading } from "../api";
import { isOver, isSpanning, shapeOf, sizeOf, strokesOf, type Stroke } from "./signs";

export interface LetterBox { left: number; right: number; line: number }
export interface Measured { em: number; width: number; height: number; baselines: number[]; boxes: LetterBox[] }
export interface Mark { site: number; family: string; strokes: Stroke[]; x: number; y: number; w: number; h: number }

export function measure(box: HTMLElement, reading: Reading): Measured {
  const frame = box.getBoundingClientRect();
  const em = parseFloat(getComputedStyle(box).fontSize);
  const probe = box.querySelector(".probe")!, level = probe.firstElementChild!;
  const ascent = level.getBoundingClientRect().bottom - probe.getBoundingClientRect().top;
  const words = box.querySelectorAll<HTMLElement>(".word");
  const baselines: number[] = [], boxes: LetterBox[] = [];
  const range = document.createRange();
  reading.words.forEach((word, index) => {
    const element = words[index]!, text = element.firstChild!;
    const baseline = element.getBoundingClientRect().top - frame.top + ascent;
    if (!baselines.length || Math.abs(baselines[baselines.length - 1]! - baseline) > em * 0.5) baselines.push(baseline);
    const [first, count] = word.letters;
    for (let n = first; n < first + count; n++) {
      const letter = reading.letters[n]!;
      range.setStart(text, letter.start);
      range.setEnd(text, letter.start + letter.length);
      let left = Infinity, right = -Infinity;
      for (const rect of range.getClientRects()) {
        if (rect.width <= 0) continue;
        left = Math.min(left, rect.left - frame.left);
        right = Math.max(right, rect.right - frame.left);
      }
      if (left > right) { // a hamza without a seat takes the edge of the letter before it
        const before = n > first ? boxes[n - 1]! : null;
        left = right = before ? before.left : element.getBoundingClientRect().right - frame.left;
      }
      boxes.push({ left, right, line: baselines.length - 1 });
    }
  });
  return { em, width: frame.width, height: frame.height, baselines, boxes };
}

const small = ["rings", "post", "bracket", "gate", "gate_ring", "chevron", "fading", "breath", "fork", "wedge"];

export function layMarks(reading: Reading, ink: Ink, at: Measured, familyOf: (rule: string) => string,
  shown: (rule: string) => boolean): Mark[] {
  const { em } = at;
  const edges = at.baselines.map(() => ({ left: Infinity, right: -Infinity }));
  at.boxes.forEach((box) => {
    const edge = edges[box.line]!;
    edge.left = Math.min(edge.left, box.left);
    edge.right = Math.max(edge.right, box.right);
  });
  // The ink of every line, and then of the marks set there.
  const under = at.baselines.map(() => [] as { x0: number; x1: number; low: number }[]);
  const over = at.baselines.map(() => [] as { x0: number; x1: number; high: number }[]);
  reading.words.forEach((word) => {
    const reaches = ink.words[word.at];
    for (let n = 0; n < word.letters[1]; n++) {
      const box = at.boxes[word.letters[0] + n]!, reach = reaches?.[n] ?? [0.3, 1];
      under[box.line]!.push({ x0: box.left - em * 0.06, x1: box.right + em * 0.06, low: reach[0] * em });
      over[box.line]!.push({ x0: box.left - em * 0.06, x1: box.right + em * 0.06, high: reach[1] * em });
    }
  });
  const middle = (letter: number) => (at.boxes[letter]!.left + at.boxes[letter]!.right) / 2;
  const marks: Mark[] = [];
  const put = (site: number, family: string, shape: NonNullable<ReturnType<typeof shapeOf>>, line: number,
    a: number, b: number) => {
    const [least, tall] = sizeOf(shape, reading.sites[site]!);
    let x0 = Math.min(a, b), x1 = Math.max(a, b);
    if (shape === "ruler" || x1 - x0 < least * em) {
      const centre = (x0 + x1) / 2;
      x0 = centre - least * em / 2;
      x1 = centre + least * em / 2;
    }
    if (x0 < 1) { x1 += 1 - x0; x0 = 1; }
    if (x1 > at.width - 1) { x0 -= x1 - at.width + 1; x1 = at.width - 1; }
    const h = tall * em, crosses = (o: { x0: number; x1: number }) => o.x0 < x1 && o.x1 > x0;
    let y: number;
    if (isOver(shape)) {
      const high = Math.max(0.9 * em, ...over[line]!.filter(crosses).map((o) => o.high)) + 0.06 * em;
      y = at.baselines[line]! - high - h;
      over[line]!.push({ x0, x1, high: high + h });
    } else {
      const low = Math.max(0.34 * em, ...under[line]!.filter(crosses).map((o) => o.low)) + 0.06 * em;
      y = at.baselines[line]! + low;
      under[line]!.push({ x0: x0 - 0.05 * em, x1: x1 + 0.05 * em, low: low + h });
    }
    marks.push({ site, family, strokes: strokesOf(shape, reading.sites[site]!, em, x0, x1, y), x: x0, y, w: x1 - x0, h });
  };
  const wanted = reading.sites.flatMap((site, index) => {
    if (site.trigger < 0 || !shown(site.rule)) return [];
    const family = familyOf(site.rule), shape = shapeOf(site, family);
    return shape ? [{ site, index, family, shape }] : [];
  });
  wanted.sort((a, b) => Number(small.includes(b.shape)) - Number(small.includes(a.shape)));
  for (const { site, index, family, shape } of wanted) {
    const from = at.boxes[site.trigger]!;
    if (shape === "bracket") {
      const covered = at.boxes.slice(site.first, site.last + 1).filter((box) => box.line === from.line && box.right > box.left);
      put(index, family, shape, from.line, Math.min(...covered.map((box) => box.left)) + 0.04 * em,
        Math.max(...covered.map((box) => box.right)) - 0.04 * em);
    } else if (isSpanning(shape) && site.host !== null && site.host !== site.trigger) {
      const host = at.boxes[site.host]!;
      const to = shape === "dotted_wave" ? host.right - 0.06 * em : middle(site.host);
      if (host.line === from.line) put(index, family, shape, from.line, middle(site.trigger), to);
      else { // over the end of a line: a part on each
        put(index, family, shape, from.line, middle(site.trigger), Math.max(1, edges[from.line]!.left - 0.18 * em));
        put(index, family, shape, host.line, Math.min(at.width - 1, edges[host.line]!.right + 0.18 * em), to);
      }
    } else put(index, family, shape, from.line, middle(site.trigger), middle(site.trigger));
  }
  return marks;
}
