// The passage: plain text in the scripture's font, a place between all words to stop at, and the
// marks laid over it.
import { useLayoutEffect, useMemo, useRef, useState } from "preact/hooks";
import type { Ink, Reading, Rules } from "../api";
import { useDesk } from "../desk";
import { layMarks, measure, type Measured } from "./overlay";

const arabicDigits = (n: number) => [...String(n)].map((d) => "٠١٢٣٤٥٦٧٨٩"[Number(d)]).join("");
const sameText = (a: Reading, b: Reading) =>
  a.words.length === b.words.length && a.words.every((word, n) => word.at === b.words[n]!.at);

export interface Chosen { word: number; letter: number | null }

export function Passage(props: {
  reading: Reading; ink: Ink | null; rules: Rules; shown: (rule: string) => boolean;
  chosen: Chosen | null; choose: (chosen: Chosen | null) => void; toggleStop?: (word: number) => void; small?: boolean;
  large?: boolean; noted?: number[];
}) {
  const { t } = useDesk();
  const { reading, ink, rules, chosen } = props;
  const box = useRef<HTMLDivElement>(null);
  const [measured, setMeasured] = useState<{ of: Reading; at: Measured } | null>(null);
  const [focus, setFocus] = useState(0);
  // A stop is seen the moment it is set; what follows from it comes with the next reading.
  const [flipped, setFlipped] = useState<{ of: Reading; word: number } | null>(null);
  const stopsAfter = (word: number) => (reading.words[word]!.seam === "stop") !== (flipped?.of === reading && flipped.word === word);
  const toggle = (word: number) => { setFlipped({ of: reading, word }); props.toggleStop!(word); };
  const familyOf = useMemo(() => new Map(rules.rules.map((rule) => [rule.rule, rule.family])), [rules]);

  // Letters are measured when the text, the font or the width is new; a stop moves none of them.
  const text = useRef(reading);
  if (!sameText(text.current, reading)) text.current = reading;
  useLayoutEffect(() => {
    const of = text.current;
    const again = () => { if (box.current) setMeasured({ of, at: measure(box.current, of) }); };
    let alive = true;
    document.fonts.load("20px scripture", "ا").then(() => alive && again());
    again();
    const watch = new ResizeObserver(() => {
      if (box.current && measured?.at.width !== box.current.getBoundingClientRect().width) again();
    });
    watch.observe(box.current!);
    window.addEventListener("afterprint", again);
    return () => { alive = false; watch.disconnect(); window.removeEventListener("afterprint", again); };
  }, [text.current]);

  const marks = useMemo(() => measured && ink && sameText(measured.of, reading)
    ? layMarks(reading, ink, measured.at, (rule) => familyOf.get(rule) ?? "", props.shown) : [],
  [measured, ink, reading, props.shown]);

  // On a small screen what is told lies over the lower half: keep the word in sight.
  useLayoutEffect(() => {
    if (chosen && innerWidth < 1000)
      box.current?.querySelectorAll<HTMLElement>(".word")[chosen.word]?.scrollIntoView({ block: "start" });
  }, [chosen?.word]);

  const wholeVerses = !reading.passage.split("-").some((part) => part.split(":").length > 2);
  const endsVerse = (n: number) => {
    const word = reading.words[n]!, next = reading.words[n + 1];
    return !/:0$/.test(word.verse) && (next ? next.verse !== word.verse : wholeVerses);
  };
  const letterAt = (word: number, x: number) => {
    const [first, count] = reading.words[word]!.letters, inside = x - box.current!.getBoundingClientRect().left;
    for (let n = first; measured && n < first + count; n++) {
      const at = measured.at.boxes[n]!;
      if (at.left <= inside && inside <= at.right) return n;
    }
    return null;
  };
  const move = (to: number) => {
    const next = Math.max(0, Math.min(reading.words.length - 1, to));
    setFocus(next);
    box.current?.querySelectorAll<HTMLElement>(".word")[next]?.focus();
  };
  const onKey = (event: KeyboardEvent, word: number) => {
    const step: Record<string, () => void> = {
      ArrowLeft: () => move(word + 1), ArrowRight: () => move(word - 1), ArrowDown: () => move(word + 8),
      ArrowUp: () => move(word - 8), Home: () => move(0), End: () => move(reading.words.length - 1),
      Enter: () => props.choose({ word, letter: null }), " ": () => props.choose({ word, letter: null }),
      Escape: () => props.choose(null),
    };
    if (props.toggleStop) step.s = step.S = step["س"] = () => toggle(word);
    if (event.ctrlKey || event.metaKey || event.altKey || !step[event.key]) return;
    event.preventDefault();
    step[event.key]!();
  };

  const parts = reading.words.map((word, n) => <>
    <span class={chosen?.word === n && chosen.letter === null ? "word chosen" : "word"} key={word.at} role="button"
      tabIndex={Math.min(focus, reading.words.length - 1) === n ? 0 : -1} data-at={word.at}
      onFocus={() => setFocus(n)} onKeyDown={(event) => onKey(event, n)}
      onClick={(event) => props.choose({ word: n, letter: event.detail ? letterAt(n, event.clientX) : null })}
    >{word.display}</span>
    {endsVerse(n) && <span class="medal" aria-hidden="true">{"\u00a0\u06dd" + arabicDigits(Number(word.verse.split(":")[1]))}</span>}
    {props.toggleStop && n + 1 < reading.words.length
      ? <button type="button" tabIndex={-1} class={stopsAfter(n) ? "gap stop" : "gap"} aria-pressed={stopsAfter(n)}
          aria-label={`${t("stop_after")} ${word.display}`} onClick={() => toggle(n)}>{" "}</button>
      : " "}
    {/:0$/.test(word.verse) && reading.words[n + 1]?.verse !== word.verse && <br />}
  </>);
  const picked = chosen && measured && chosen.letter !== null ? measured.at.boxes[chosen.letter] : null;
  return <div class={props.small ? "scripture small" : props.large ? "scripture large" : "scripture"} lang="ar" dir="rtl" ref={box}>
    <span class="probe" aria-hidden="true">ا<span /></span>
    {parts}
    {measured && <svg class="marks" aria-hidden="true" width={measured.at.width} height={measured.at.height}>
      {props.noted?.map((letter) => { const at = measured.at.boxes[letter]; return at && <rect key={`noted ${letter}`} class="noted" x={at.left}
        width={Math.max(2, at.right - at.left)} y={measured.at.baselines[at.line]! - measured.at.em * 1.1} height={measured.at.em * 1.6} rx="3" />; })}
      {picked && <rect class="picked" x={picked.left} width={Math.max(2, picked.right - picked.left)}
        y={measured.at.baselines[picked.line]! - measured.at.em * 1.1} height={measured.at.em * 1.6} rx="3" />}
      {marks.map((mark) => <g key={`${mark.site}.${mark.y}`} class="mark" data-rule={reading.sites[mark.site]!.rule}
        style={{ color: `var(--ink-${mark.family})` }} onClick={() => {
          const letter = reading.sites[mark.site]!.trigger;
          props.choose({ word: reading.letters[letter]!.word, letter });
        }}>
        <title>{reading.sites[mark.site]!.label}</title>
        <rect class="touch" x={mark.x - 3} y={mark.y - 3} width={mark.w + 6} height={mark.h + 6} />
        {mark.strokes.map((stroke, n) => <path key={n} d={stroke.d} class={stroke.filled ? "filled" : "drawn"}
          stroke-width={(stroke.width ?? 1) * 0.044 * measured.at.em} stroke-dasharray={stroke.dash} />)}
      </g>)}
    </svg>}
  </div>;
}
