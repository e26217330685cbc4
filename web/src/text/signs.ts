// The strokes of the measure notation, for the overlay. The shapes are those of the sheet
// (src/typeset/sign.c); which site is where, and how long, comes from the server.
import type { Site } from "../api";

const COUNT = 0.23, TICK = 0.14, AMPLITUDE = 0.075, WAVE = 0.23, TIE = 0.2, RING = 0.062, PITCH = 0.19, LOZENGE = 0.085;

export type Shape =
  | "ruler" | "wave" | "tie" | "tie_wave" | "lozenge" | "dotted_wave" | "post" | "rings" | "wedge" | "bracket"
  | "gate" | "gate_ring" | "fading" | "chevron" | "breath" | "slant" | "eased" | "lips" | "fork";

const own: Record<string, Shape> = {
  tanwin_kasra: "chevron", iltiqa_sakinayn: "chevron", waqf_sukun: "gate", waqf_ha: "gate_ring", rawm: "fading",
  ishmam: "lips", sakt: "breath", imala: "slant", tashil: "eased", sad_sin: "fork", fath_damm: "fork",
};
const ofFamily: Record<string, Shape> = {
  nasal: "wave", turn: "lozenge", hide: "dotted_wave", clear: "post", echo: "rings", weight: "wedge", silent: "bracket",
};

export function shapeOf(site: Site, family: string): Shape | null {
  if (family === "length") return site.counts ? "ruler" : null;
  if (family === "merge") return site.nasal ? "tie_wave" : "tie";
  return ofFamily[family] ?? own[site.rule] ?? null;
}
export const isSpanning = (shape: Shape) => ["tie", "tie_wave", "lozenge", "dotted_wave"].includes(shape);
export const isOver = (shape: Shape) => shape === "wedge";

const held = (site: Site) => site.counts || 2;
const longest = (site: Site) => Math.max(site.counts ?? 0, site.counts_max ?? 0);

// Least width and height, in em.
export function sizeOf(shape: Shape, site: Site): [number, number] {
  switch (shape) {
    case "ruler": return [longest(site) * COUNT, TICK + 0.04];
    case "wave": case "dotted_wave": return [held(site) * COUNT, 2 * AMPLITUDE + TICK + 0.04];
    case "lozenge": return [held(site) * COUNT + 2 * LOZENGE, 2 * AMPLITUDE + TICK + 0.04];
    case "tie": return [0.3, TIE + 0.04];
    case "tie_wave": return [held(site) * COUNT + 0.16, 0.12 + 2 * AMPLITUDE + TICK + 0.04];
    case "post": return [0.15, 0.22];
    case "rings": return [((site.grade ?? 1) - 1) * PITCH + 2 * RING + 0.04, 2 * RING + 0.04];
    case "wedge": return [0.23, 0.18];
    case "bracket": return [0.2, 0.1];
    case "gate_ring": case "lips": return [0.34, 0.18];
    case "slant": return [2 * COUNT, 0.26];
    default: return [0.26, 0.2];
  }
}

export interface Stroke { d: string; filled?: boolean; dash?: string; width?: number }

// Drawn from x1 (right, where reading begins) to x0, from y down; all in px of a type size em.
export function strokesOf(shape: Shape, site: Site, em: number, x0: number, x1: number, y: number): Stroke[] {
  const n = (value: number) => value.toFixed(1);
  const middle = (x0 + x1) / 2;
  const line = (ax: number, ay: number, bx: number, by: number) => `M${n(ax)} ${n(ay)}L${n(bx)} ${n(by)}`;
  const ring = (x: number, cy: number, r: number) =>
    `M${n(x - r)} ${n(cy)}a${n(r)} ${n(r)} 0 1 0 ${n(2 * r)} 0a${n(r)} ${n(r)} 0 1 0 ${n(-2 * r)} 0Z`;
  const waves = (from: number, to: number, at: number) => {
    const halves = 2 * Math.max(1, Math.round((from - to) / (WAVE * em))), step = (from - to) / halves;
    let d = "";
    for (let i = 0; i < halves; i++) {
      const x = from - i * step, bow = (i % 2 ? 1 : -1) * AMPLITUDE * em * 4 / 3;
      d += `C${n(x - step * 0.36)} ${n(at + bow)} ${n(x - step * 0.64)} ${n(at + bow)} ${n(x - step)} ${n(at)}`;
    }
    return d;
  };
  const ticks = (count: number, at: number, length: number) => {
    let d = "";
    for (let i = 0; i < count; i++) d += line(middle + COUNT * em * (count / 2 - i - 0.5), at, middle + COUNT * em * (count / 2 - i - 0.5), at + length);
    return d;
  };
  const wave = (from: number, to: number, dash?: string): Stroke[] => {
    const at = y + AMPLITUDE * em;
    return [{ d: `M${n(from)} ${n(at)}${waves(from, to, at)}`, ...(dash ? { dash } : {}) },
      { d: ticks(held(site), at + 0.13 * em, 0.08 * em) }];
  };
  const dots = `0 ${n(0.085 * em)}`;
  switch (shape) {
    case "ruler": {
      const all = longest(site), counts = site.counts ?? 0, solid = Math.min(site.counts_min || counts, all);
      const each = (x1 - x0) / all;
      let teeth = "";
      for (let i = 0; i < counts; i++) teeth += line(x1 - each * (i + 0.5), y, x1 - each * (i + 0.5), y + TICK * em);
      const strokes: Stroke[] = [{ d: line(x1, y, x1 - each * solid, y) + teeth }];
      if (solid < all) strokes.push({ d: line(x1 - each * solid - 0.08 * em, y, x0, y), dash: dots });
      return strokes;
    }
    case "wave": return wave(x1, x0);
    case "dotted_wave": return wave(x1, x0, dots);
    case "lozenge": {
      const r = LOZENGE * em, cy = y + r, cx = x1 - r;
      return [{ d: `M${n(cx)} ${n(cy - r)}L${n(cx + r)} ${n(cy)}L${n(cx)} ${n(cy + r)}L${n(cx - r)} ${n(cy)}Z`, filled: true },
        ...wave(x1 - 2 * r - 0.04 * em, x0)];
    }
    case "tie": case "tie_wave": {
      const low = y + (shape === "tie" ? TIE : 0.12 + AMPLITUDE) * em, bend = Math.min((x1 - x0) / 2, 0.22 * em);
      const dash = site.complete === false ? `${n(0.13 * em)} ${n(0.1 * em)}` : undefined;
      const body = shape === "tie_wave" ? waves(x1 - bend, x0 + bend, low) : `L${n(x0 + bend)} ${n(low)}`;
      const d = `M${n(x1)} ${n(y)}C${n(x1)} ${n(y + (low - y) * 0.7)} ${n(x1 - bend * 0.3)} ${n(low)} ${n(x1 - bend)} ${n(low)}`
        + `${body}C${n(x0 + bend * 0.3)} ${n(low)} ${n(x0)} ${n(y + (low - y) * 0.7)} ${n(x0)} ${n(y)}`;
      const strokes: Stroke[] = [{ d, ...(dash ? { dash } : {}) }, { d: ring(x1, y, 0.048 * em), filled: true }];
      if (shape === "tie_wave") strokes.push({ d: ticks(held(site), low + 0.13 * em, 0.08 * em) });
      return strokes;
    }
    case "post": return [{ d: line(middle, y, middle, y + 0.2 * em), width: 1.5 },
      { d: line(x0, y + 0.2 * em, x1, y + 0.2 * em) }];
    case "rings": {
      const count = Math.max(1, site.grade ?? 1);
      return Array.from({ length: count }, (_, i) =>
        ({ d: ring(middle + (i - (count - 1) / 2) * PITCH * em, y + (RING + 0.02) * em, RING * em) }));
    }
    case "wedge": return [{ d: `M${n(x0)} ${n(y)}L${n(x1)} ${n(y)}L${n(middle)} ${n(y + 0.16 * em)}Z`, filled: site.heavy !== false }];
    case "bracket": return [{ d: `M${n(x0)} ${n(y)}V${n(y + 0.08 * em)}H${n(x1)}V${n(y)}`, width: 0.85 }];
    case "gate": return [{ d: line(x1, y + 0.09 * em, x0, y + 0.09 * em) + line(x0, y, x0, y + 0.18 * em) }];
    case "gate_ring": return [{ d: ring(x1 - RING * em, y + 0.09 * em, RING * em)
      + line(x1 - 2 * RING * em, y + 0.09 * em, x0, y + 0.09 * em) + line(x0, y, x0, y + 0.18 * em) }];
    case "fading": return [0, 1, 2].map((i) => ({ d: line(x1 - i * 0.11 * em, y, x1 - i * 0.11 * em, y + (0.2 - i * 0.06) * em) }));
    case "chevron": return [{ d: `M${n(x1)} ${n(y)}L${n(middle)} ${n(y + 0.14 * em)}L${n(x0)} ${n(y)}` }];
    case "breath": return [{ d: line(middle + 0.06 * em, y, middle + 0.06 * em, y + 0.2 * em) + line(middle - 0.06 * em, y, middle - 0.06 * em, y + 0.2 * em) }];
    case "slant": return [{ d: line(x1, y, x0, y + 0.2 * em) + line(x0, y + 0.2 * em, x1, y + 0.2 * em) }];
    case "eased": return [{ d: line(x1, y + 0.2 * em, x0, y + 0.2 * em) + ring(middle, y + 0.08 * em, RING * em) }];
    case "lips": return [{ d: `M${n(x0)} ${n(y + 0.09 * em)}Q${n(middle)} ${n(y - 0.06 * em)} ${n(x1)} ${n(y + 0.09 * em)}Q${n(middle)} ${n(y + 0.24 * em)} ${n(x0)} ${n(y + 0.09 * em)}Z` }];
    case "fork": return [{ d: line(middle, y, middle, y + 0.09 * em) + `M${n(x0)} ${n(y + 0.2 * em)}L${n(middle)} ${n(y + 0.09 * em)}L${n(x1)} ${n(y + 0.2 * em)}` }];
  }
}
