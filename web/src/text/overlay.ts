// Where letters lie in the browser's own layout, and where marks go: each under the lowest ink above
// it, as on the sheet. The text itself is never touched.
import type { Ink, Reading, Site } from "../api";
import { strokesOf, type Open, type Sign, type Stroke } from "./signs";

export interface LetterBox { left: number; right: number; line: number }
export interface Measured { em: number; width: number; height: number; baselines: number[]; boxes: LetterBox[] }
export interface Mark { rule: string; label: string; letter: number; family: string; strokes: Stroke[]; x: number; y: number; w: number; h: number }
// The marks of a line, and what they were made of.
export interface MarkedLine { of: string; marks: Mark[] }

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

// One mark to be laid: which, and between which points of its line.
interface Wanted { site: Site; family: string; open: Open; a: number; b: number }

const signOf = (reading: Reading, site: Site): Sign | null => (site.sign && reading.signs?.[site.sign]) || null;

// Which marks every line has: one that reaches over the end of a line has a part on each.
function wantedOn(reading: Reading, at: Measured, familyOf: (rule: string) => string, shown: (rule: string) => boolean): Wanted[][] {
  const { em } = at;
  const edges = at.baselines.map(() => ({ left: Infinity, right: -Infinity }));
  for (const box of at.boxes) {
    const edge = edges[box.line]!;
    edge.left = Math.min(edge.left, box.left);
    edge.right = Math.max(edge.right, box.right);
  }
  const middle = (letter: number) => (at.boxes[letter]!.left + at.boxes[letter]!.right) / 2;
  const lines: Wanted[][] = at.baselines.map(() => []);
  for (const site of reading.sites) {
    if (site.trigger < 0 || !shown(site.rule)) continue;
    const family = familyOf(site.rule), sign = signOf(reading, site);
    if (!sign) continue;
    const from = at.boxes[site.trigger]!;
    const put = (line: number, a: number, b: number, open: Open = "whole") => lines[line]!.push({ site, family, open, a, b });
    if (sign.spans === "letters") {
      const covered = at.boxes.slice(site.first, site.last + 1).filter((box) => box.line === from.line && box.right > box.left);
      put(from.line, Math.min(...covered.map((box) => box.left)) + 0.04 * em, Math.max(...covered.map((box) => box.right)) - 0.04 * em);
    } else if (sign.spans && site.host !== null && site.host !== site.trigger) {
      const host = at.boxes[site.host]!;
      const to = sign.spans === "toward" ? host.right - 0.06 * em : middle(site.host);
      if (host.line === from.line) put(from.line, middle(site.trigger), to);
      else {
        put(from.line, middle(site.trigger), Math.max(1, edges[from.line]!.left - 0.18 * em), "opens_left");
        put(host.line, Math.min(at.width - 1, edges[host.line]!.right + 0.18 * em), to, "opens_right");
      }
    } else put(from.line, middle(site.trigger), middle(site.trigger));
  }
  return lines;
}

function layLine(reading: Reading, ink: Ink, at: Measured, line: number, wanted: Wanted[]): Mark[] {
  const { em } = at, baseline = at.baselines[line]!;
  // The ink of the line, and then of the marks set there.
  const under: { x0: number; x1: number; low: number }[] = [], over: { x0: number; x1: number; high: number }[] = [];
  for (const word of reading.words) {
    if (at.boxes[word.letters[0]]?.line !== line) continue; // a word is never parted
    const reaches = ink.words[word.at];
    for (let n = 0; n < word.letters[1]; n++) {
      const box = at.boxes[word.letters[0] + n]!, reach = reaches?.[n] ?? [0.3, 1];
      under.push({ x0: box.left - em * 0.06, x1: box.right + em * 0.06, low: reach[0] * em });
      over.push({ x0: box.left - em * 0.06, x1: box.right + em * 0.06, high: reach[1] * em });
    }
  }
  // How far it reaches: its own length at least, about the middle; a part at a line's end keeps to the end.
  const reach = ({ site, open, a, b }: Wanted) => {
    const sign = signOf(reading, site)!, least = sign.least * em;
    let x0 = Math.min(a, b), x1 = Math.max(a, b);
    if (x1 - x0 < least || !sign.spans) {
      const centre = (x0 + x1) / 2;
      if (open !== "opens_left") x0 = open === "opens_right" ? x1 - least : centre - least / 2;
      x1 = x0 + least;
    }
    if (x0 < 1) { x1 += 1 - x0; x0 = 1; }
    if (x1 > at.width - 1) { x0 -= x1 - at.width + 1; x1 = at.width - 1; }
    return { sign, x0, x1 };
  };
  const lay = (one: Wanted): Mark => {
    const { sign, x0, x1 } = reach(one), { site, family, open } = one;
    const h = sign.tall * em, crosses = (o: { x0: number; x1: number }) => o.x0 < x1 && o.x1 > x0;
    let y: number;
    if (sign.over) {
      const high = Math.max(0.9 * em, ...over.filter(crosses).map((o) => o.high)) + 0.06 * em;
      y = baseline - high - h;
      over.push({ x0, x1, high: high + h });
    } else {
      const low = Math.max(0.34 * em, ...under.filter(crosses).map((o) => o.low)) + 0.06 * em;
      y = baseline + low;
      under.push({ x0: x0 - 0.05 * em, x1: x1 + 0.05 * em, low: low + h });
    }
    return { rule: site.rule, label: site.label, letter: site.trigger, family, strokes: strokesOf(sign, open, em, x0, x1, y), x: x0, y, w: x1 - x0, h };
  };
  // Small ones first, so that they lie next to their letters.
  const length = (one: Wanted) => { const { x0, x1 } = reach(one); return x1 - x0; };
  return wanted.map((one) => ({ one, length: length(one) })).toSorted((a, b) => a.length - b.length).map(({ one }) => lay(one));
}

// kept: the lines of the last time, of the same letters at the same places; those that have the same
// marks again are answered as they are.
export function layMarks(reading: Reading, ink: Ink, at: Measured, familyOf: (rule: string) => string,
  shown: (rule: string) => boolean, kept: MarkedLine[]): MarkedLine[] {
  return wantedOn(reading, at, familyOf, shown).map((wanted, n) => {
    const of = JSON.stringify(wanted);
    return kept[n]?.of === of ? kept[n] : { of, marks: layLine(reading, ink, at, n, wanted) };
  });
}
