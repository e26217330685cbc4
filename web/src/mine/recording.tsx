// One stretch to record, the whole or a verse: kept second by second, heard again, recorded again. An
// earlier one is only given up when the new one stands.
import { useEffect, useRef, useState } from "preact/hooks";
import { remember, remembered, useWords } from "../desk";
import { Recorder } from "../takes/record";
import { clock } from "../takes/types";
import type { Drawer } from "./drawer";
import { addPiece, dropPart, newId, partSound, type Part, type Work } from "./kept";
import { mineWords } from "./words";

const tired_s = 15 * 60;
// How long was recorded today, for a word on resting the voice.
const todayKey = () => new Date().toDateString();
function recordedToday(): number {
  const [day, seconds] = (remembered("voice-today") ?? "").split("|");
  return day === todayKey() ? Number(seconds) || 0 : 0;
}

export function useSound(key: string | null, fetch: () => Promise<Blob>): string {
  const [at, setAt] = useState("");
  useEffect(() => {
    if (key === null) { setAt(""); return; }
    let made = "", alive = true;
    fetch().then((blob) => { if (alive) setAt(made = URL.createObjectURL(blob)); }, () => {});
    return () => { alive = false; if (made) URL.revokeObjectURL(made); };
  }, [key]);
  return at;
}

export function Recording(props: {
  of: string; called: string; part: Part | undefined; words: string; start: () => Work; drawer: Drawer; hear: (() => void) | null;
  blocked: boolean; running: (is: boolean) => void }) {
  const t = useWords(mineWords);
  const { part, drawer } = props;
  const [running, setRunning] = useState(false);
  const [tired, setTired] = useState(() => recordedToday() > tired_s);
  // Writing goes one after the other; React's state would lag behind it.
  const now = useRef<{ work: Work; part: Part; turn: Promise<unknown> } | null>(null);
  const works = useRef(drawer.works);
  works.current = drawer.works;
  const sound = useSound(part && !running ? `${part.id} ${part.pieces}` : null, () => partSound(part!));
  const latest = (work: Work) => works.current.find((one) => one.id === work.id) ?? work;

  const begun = () => {
    setRunning(true);
    props.running(true);
    now.current = { work: props.start(), part: { id: newId(), of: props.of, type: "", pieces: 0, seconds: 0, done: false }, turn: Promise.resolve() };
  };
  const piece = (bytes: Blob) => {
    const going = now.current;
    if (!going || bytes.size === 0) return;
    going.turn = going.turn.then(async () => {
      const whole = await bytes.arrayBuffer();
      const n = going.part.pieces;
      going.part = { ...going.part, type: going.part.type || bytes.type.split(";")[0]!, pieces: n + 1, seconds: n + 1 };
      const before = latest(going.work);
      going.work = { ...before, parts: [...before.parts.filter((one) => one.id !== going.part.id), going.part] };
      await addPiece(going.work, going.part, n, whole);
      drawer.put(going.work);
    });
  };
  const done = () => {
    const going = now.current;
    if (!going) return;
    now.current = null;
    void going.turn.then(async () => {
      const before = latest(going.work), part = { ...going.part, done: true };
      const old = before.parts.filter((one) => one.of === props.of && one.id !== part.id);
      const work = { ...before, parts: [...before.parts.filter((one) => one.id !== part.id && !old.includes(one)), part] };
      for (const one of old) await dropPart(work, one.id);
      drawer.put(work);
      const today = recordedToday() + part.seconds;
      remember("voice-today", `${todayKey()}|${today}`);
      setTired(today > tired_s);
      setRunning(false);
      props.running(false);
    });
  };
  return <li class="part">
    {props.of && <p class="part-words"><bdi class="at">{props.called}</bdi> <span class="scripture line" lang="ar" dir="rtl">{props.words}</span></p>}
    <div class="part-tools">
      {props.hear && <button type="button" class="quiet" aria-label={`${t("teacher_take")}: ${t("verse")} ${props.called}`} onClick={props.hear}>{t("teacher_take")}</button>}
      <Recorder plain disabled={props.blocked} begun={begun} piece={piece} done={done} begin={part && !running ? t("record_again") : undefined} />
      {part && !running && <>
        <audio controls preload="metadata" src={sound || undefined} aria-label={`${t("your_recording")}${props.of ? `: ${t("verse")} ${props.called}` : ""}`} />
        <span class="faint">{clock(part.seconds)}{!part.done && <> · {t("broken_off")}</>}</span></>}
    </div>
    {tired && <p class="trouble">{t("rest_now")}</p>}
  </li>;
}
