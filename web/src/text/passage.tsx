// The passage: plain text in the scripture's font, a place between all words to stop at, and the
// marks laid over it. What a hand does changes as little of the page as can be: the words are made
// anew only where the text or a stop is, the marks only of the lines they change in.
import { options, type VNode } from "preact";
import { useLayoutEffect, useMemo, useRef, useState } from "preact/hooks";
import type { Ink, Reading, Rules } from "../api";
import { useDesk } from "../desk";
import { layMarks, measure, type MarkedLine, type Measured } from "./overlay";

const arabicDigits = (n: number) => [...String(n)].map((d) => "٠١٢٣٤٥٦٧٨٩"[Number(d)]).join("");
const sameText = (a: Reading, b: Reading) =>
  a.words.length === b.words.length && a.words.every((word, n) => word.at === b.words[n]!.at);

export interface Chosen { word: number; letter: number | null }

// src/server/first_page.c writes the same into the page that comes first, its attributes spelt the same: one spelt
// otherwise (tabIndex) would be taken off and set anew, and where the keyboard stands would be lost with it.
function wordsOf(reading: Reading, stops: string | null, say: string) {
  const wholeVerses = !reading.passage.split("-").some((part) => part.split(":").length > 2);
  return reading.words.map((word, n) => {
    const next = reading.words[n + 1], newVerse = next?.verse !== word.verse, opening = /:0$/.test(word.verse);
    return <>
      <span class="word" key={word.at} role="button" tabindex={n ? -1 : 0} data-at={word.at}>{word.display}</span>
      {!opening && newVerse && (next || wholeVerses)
        && <span class="medal" aria-hidden="true">{"\u00a0\u06dd" + arabicDigits(Number(word.verse.split(":")[1]))}</span>}
      {next && stops && <span class={stops[n] === "1" ? "gap stop" : "gap"} role="button" tabindex={-1} aria-pressed={stops[n] === "1"} aria-label={`${say} ${word.display}`} />}
      {next && " "}
      {opening && newVerse && <br />}
    </>;
  });
}

// Done before the browser goes on: what is printed is what stands there when it asks.
function atOnce(change: () => void) {
  const usual = options.debounceRendering;
  options.debounceRendering = (work) => work();
  change();
  options.debounceRendering = usual;
}

function Marks(props: { line: MarkedLine }) {
  return <g class="marks-line">{props.line.marks.map((mark, n) => <g key={n} class="mark" data-rule={mark.rule} data-letter={mark.letter}
    style={{ color: `var(--ink-${mark.family})` }}>
    <title>{mark.label}</title>
    <rect class="touch" x={mark.x - 3} y={mark.y - 3} width={mark.w + 6} height={mark.h + 6} />
    {mark.strokes.map((stroke, k) => <path key={k} d={stroke.d} class={stroke.filled ? "filled" : "drawn"}
      stroke-width={stroke.width ?? undefined} stroke-dasharray={stroke.dash ?? undefined} />)}
  </g>)}</g>;
}

// On paper every line stands by itself with its marks, so that none is parted from them at the end of
// a page. The lines are those of the paper's width.
function Paper(props: { reading: Reading; at: Measured; lines: MarkedLine[]; stops: string | null }) {
  const { reading, at } = props;
  const words = wordsOf(reading, props.stops, "");
  const lineOf = (word: number) => at.boxes[reading.words[word]!.letters[0]]!.line;
  return <div class="scripture on-paper" lang="ar" dir="rtl">
    {at.baselines.map((baseline, n) => <div key={n} class="paper-line">
      {words.filter((_, word) => lineOf(word) === n)}
      <svg class="marks" width={at.width} height={at.em * 3}><g transform={`translate(0 ${at.baselines[0]! - baseline})`}>
        {props.lines[n] && <Marks line={props.lines[n]} />}</g></svg>
    </div>)}
  </div>;
}

export function Passage(props: {
  reading: Reading; ink: Ink | null; rules: Rules; shown: (rule: string) => boolean;
  chosen: Chosen | null; choose: (chosen: Chosen | null) => void; small?: boolean; large?: boolean;
  toggleStop?: (word: number) => void;
  // A hand is over it or about to: what it will want can be asked for.
  near?: (chosen: Chosen) => void; nearStop?: (word: number) => void;
  noted?: number[]; wrong?: number[]; dots?: number[];
}) {
  const { t } = useDesk();
  const { reading, ink, rules, chosen } = props;
  const box = useRef<HTMLDivElement>(null);
  const [measured, setMeasured] = useState<{ of: Reading; at: Measured } | null>(null);
  // A stop is seen the moment it is set; what follows from it comes with the next reading.
  const [flipped, setFlipped] = useState<{ of: Reading; word: number } | null>(null);
  const toggle = (word: number) => { setFlipped({ of: reading, word }); props.toggleStop!(word); };
  const stops = props.toggleStop
    ? reading.words.map((word, n) => (word.seam === "stop") !== (flipped?.of === reading && flipped.word === n) ? "1" : "0").join("") : null;
  const familyOf = useMemo(() => new Map(rules.rules.map((rule) => [rule.rule, rule.family])), [rules]);

  // Letters are measured when the text, the font or the width is new; a stop moves none of them.
  const text = useRef(reading), wide = useRef(0), elements = useRef<HTMLElement[]>([]), focus = useRef(0);
  if (!sameText(text.current, reading)) text.current = reading;
  const [paper, setPaper] = useState<Measured | null>(null);
  const words = useMemo(() => wordsOf(text.current, stops, t("stop_after")), [text.current, stops, t]);
  useLayoutEffect(() => {
    const of = text.current;
    elements.current = [...box.current!.querySelectorAll<HTMLElement>(".word")];
    focus.current = Math.max(0, elements.current.indexOf(document.activeElement as HTMLElement));
    elements.current.forEach((one, n) => { one.tabIndex = n === focus.current ? 0 : -1; });
    const again = () => {
      if (!box.current) return;
      const at = measure(box.current, of);
      wide.current = at.width;
      setMeasured({ of, at });
    };
    let alive = true;
    // In the scripture's own font, and not before the words themselves are painted.
    document.fonts.load("20px scripture", "ا").then(() => requestAnimationFrame(() => setTimeout(() => alive && again())));
    const watch = new ResizeObserver(() => {
      if (box.current && wide.current && wide.current !== box.current.getBoundingClientRect().width) again();
    });
    watch.observe(box.current!);
    const toPaper = () => {
      box.current!.classList.add("on-paper");
      const at = measure(box.current!, of);
      box.current!.classList.remove("on-paper");
      atOnce(() => setPaper(at));
    };
    const back = () => setPaper(null);
    window.addEventListener("beforeprint", toPaper);
    window.addEventListener("afterprint", back);
    return () => {
      alive = false;
      watch.disconnect();
      window.removeEventListener("beforeprint", toPaper);
      window.removeEventListener("afterprint", back);
    };
  }, [text.current]);

  // A line whose marks are what they were keeps them as they are drawn.
  const before = useRef<{ by: unknown[]; lines: MarkedLine[] }>({ by: [], lines: [] });
  const drawn = useRef(new WeakMap<MarkedLine, VNode>());
  const lines = useMemo(() => {
    if (!measured || !ink || !sameText(measured.of, reading)) return [];
    const by = [measured, ink], kept = by.every((one, n) => one === before.current.by[n]) ? before.current.lines : [];
    const laid = layMarks(reading, ink, measured.at, (rule) => familyOf.get(rule) ?? "", props.shown, kept);
    before.current = { by, lines: laid };
    return laid;
  }, [measured, ink, reading, familyOf, props.shown]);
  const draw = (line: MarkedLine, n: number) => {
    let one = drawn.current.get(line);
    if (!one) drawn.current.set(line, one = <Marks key={n} line={line} />);
    return one;
  };

  const whole = chosen && chosen.letter === null ? chosen.word : null;
  useLayoutEffect(() => {
    const one = whole === null ? null : elements.current[whole];
    one?.classList.add("chosen");
    return () => one?.classList.remove("chosen");
  }, [whole, words]);

  // On a small screen what is told lies over the lower half: keep the word in sight.
  useLayoutEffect(() => {
    if (chosen && innerWidth < 1000) elements.current[chosen.word]?.scrollIntoView({ block: "start" });
  }, [chosen?.word]);

  const letterAt = (word: number, x: number) => {
    const [first, count] = reading.words[word]!.letters, inside = x - box.current!.getBoundingClientRect().left;
    const { boxes } = measured?.at ?? measure(box.current!, text.current); // a hand may be quicker
    const away = (letter: number) => Math.max(boxes[letter]!.left - inside, inside - boxes[letter]!.right, 0);
    let nearest: number | null = null;
    for (let n = first; n < first + count; n++) if (nearest === null || away(n) < away(nearest)) nearest = n;
    return nearest;
  };
  // What of the passage an event is about.
  const under = (event: MouseEvent | FocusEvent): { letter?: number; word?: number; gap?: number } => {
    const found = (event.target as Element).closest<HTMLElement>(".word, .gap, .mark");
    if (!found) return {};
    if (found.dataset.letter) return { letter: Number(found.dataset.letter) };
    if (found.dataset.at) return { word: elements.current.indexOf(found) };
    let word: Element | null = found;
    while (word && !word.classList.contains("word")) word = word.previousElementSibling;
    return { gap: elements.current.indexOf(word as HTMLElement) };
  };
  const placeOf = (event: MouseEvent): Chosen | null => {
    const { letter, word } = under(event);
    if (letter !== undefined) return { word: reading.letters[letter]!.word, letter };
    return word === undefined ? null : { word, letter: event.detail || event.type !== "click" ? letterAt(word, event.clientX) : null };
  };
  const onClick = (event: MouseEvent) => {
    const { gap } = under(event), place = placeOf(event);
    if (gap !== undefined) toggle(gap);
    else if (place) props.choose(place);
  };
  const onNear = (event: MouseEvent) => {
    if (!props.near && !props.nearStop) return;
    const { gap } = under(event), place = placeOf(event);
    if (gap !== undefined) props.nearStop?.(gap);
    else if (place) props.near?.(place);
  };
  const stand = (on: number) => {
    elements.current[focus.current]!.tabIndex = -1;
    elements.current[on]!.tabIndex = 0;
    focus.current = on;
  };
  const onFocus = (event: FocusEvent) => {
    const { word } = under(event);
    if (word === undefined || word < 0) return;
    stand(word);
    props.near?.({ word, letter: null });
  };
  const move = (to: number) => elements.current[Math.max(0, Math.min(elements.current.length - 1, to))]?.focus();
  const onKey = (event: KeyboardEvent) => {
    const word = elements.current.indexOf(event.target as HTMLElement);
    if (word < 0) return;
    const step: Record<string, () => void> = {
      ArrowLeft: () => move(word + 1), ArrowRight: () => move(word - 1), ArrowDown: () => move(word + 8),
      ArrowUp: () => move(word - 8), Home: () => move(0), End: () => move(reading.words.length - 1),
      Enter: () => props.choose({ word, letter: null }), " ": () => props.choose({ word, letter: null }),
      Escape: () => props.choose(null),
    };
    if (props.toggleStop && word + 1 < reading.words.length) step.s = step.S = step["س"] = () => toggle(word);
    if (event.ctrlKey || event.metaKey || event.altKey || !step[event.key]) return;
    event.preventDefault();
    step[event.key]!();
  };

  const picked = chosen && measured && chosen.letter !== null ? measured.at.boxes[chosen.letter] : null;
  const spot = (letter: number, kind: string) => {
    const at = measured!.at.boxes[letter];
    return at && <rect key={`${kind} ${letter}`} class={kind} x={at.left} width={Math.max(2, at.right - at.left)}
      y={measured!.at.baselines[at.line]! - measured!.at.em * 1.1} height={measured!.at.em * 1.6} rx="3" />;
  };
  const onPaper = paper && ink ? layMarks(reading, ink, paper, (rule) => familyOf.get(rule) ?? "", props.shown, []) : [];
  return <><div class={props.small ? "scripture small" : props.large ? "scripture large" : "scripture"} lang="ar" dir="rtl" elementtiming="words" ref={box}
    onClick={onClick} onPointerOver={onNear} onPointerDown={onNear} onFocusIn={onFocus} onKeyDown={onKey}>
    <span class="probe" aria-hidden="true">ا<span /></span>
    {words}
    {measured && <svg class="marks" aria-hidden="true" width={measured.at.width} height={measured.at.height}>
      {props.noted?.map((letter) => spot(letter, "noted"))}
      {props.wrong?.map((letter) => spot(letter, "noted wrong"))}
      {props.dots?.map((letter) => { const at = measured.at.boxes[letter]; return at && <circle key={`dot ${letter}`} class="place-dot"
        cx={(at.left + at.right) / 2} cy={measured.at.baselines[at.line]! + measured.at.em * 0.62} r={measured.at.em * 0.065} />; })}
      {picked && spot(chosen!.letter!, "picked")}
      {lines.map(draw)}
    </svg>}
  </div>
  {paper && <Paper reading={reading} at={paper} lines={onPaper} stops={stops} />}</>;
}
