// What was handed in, and what the teacher sent back: never before they sent it.
import { useEffect, useRef, useState } from "preact/hooks";
import { address, get, once, Refusal, send, type Rules } from "../api";
import { go, useAsked, useDesk, useWords } from "../desk";
import { Rulers } from "../listening/rulers";
import { useDay } from "./page";
import type { Answer } from "./types";
import { mineWords } from "./words";

const margin_ms = 350, again_ms = 30_000;

const told = { short: "told_short", long: "told_long", fault: "told_fault" } as const;

export function AnswerPage({ id, changed }: { id: string; changed: () => void }) {
  const t = useWords(mineWords);
  const { in_lang } = useDesk();
  const day = useDay();
  const [turn, setTurn] = useState(0);
  const [rules, setRules] = useState<Rules | null>(null);
  const [trouble, setTrouble] = useState("");
  useEffect(() => { once<Rules>("rules").then(setRules, () => {}); }, []);
  const asked = useAsked<Answer>(`${id} ${turn}`, (signal) => get(`mine/submissions/${id}`, {}, signal));
  const kept = useRef<Answer | null>(null);
  if (asked.value) kept.current = asked.value;
  const answer = kept.current;
  useEffect(() => {
    const timer = setInterval(() => { if (document.visibilityState === "visible" && !kept.current?.sent_ms) setTurn((n) => n + 1); }, again_ms);
    return () => clearInterval(timer);
  }, []);
  const audio = useRef<HTMLAudioElement>(null), until = useRef(Infinity);
  const hear = (from: number, to: number) => {
    const player = audio.current;
    if (!player) return;
    until.current = to + margin_ms;
    player.currentTime = Math.max(0, from - margin_ms) / 1000;
    void player.play().catch(() => {});
  };
  const [soundless, setSoundless] = useState(false);
  useEffect(() => { if (answer && !answer.audio) setSoundless(true); }, [answer?.audio]);
  if (!answer) return <p role={asked.trouble ? "alert" : "status"}>{asked.trouble ?? t("making")}</p>;
  const work = answer.sites.filter((one) => one.told !== "right"), well = answer.sites.filter((one) => one.told === "right");
  const family = (rule: string | null) => rules?.rules.find((one) => one.rule === rule)?.family ?? "seam";
  const takeBack = () => {
    if (!confirm(t("take_back_sure"))) return;
    send("DELETE", `mine/submissions/${id}`).then(() => { changed(); go("/mine"); },
      (error: Error) => setTrouble(error instanceof Refusal ? error.message : t("away")));
  };
  return <article class="answer">
    <h1><bdi>{answer.title || answer.passage}</bdi> <span class="faint">{answer.title && answer.title !== answer.passage && <><bdi>{answer.passage}</bdi> · </>}{day(answer.made_ms)}</span></h1>
    {soundless ? <p class="faint">{t("rec_gone")}</p>
      : <audio ref={audio} controls preload="metadata" aria-label={t("your_recording")} src={address(`mine/submissions/${id}/audio`)}
          onError={() => setSoundless(true)} onPause={() => { until.current = Infinity; }}
          onTimeUpdate={(event) => { if (event.currentTarget.currentTime * 1000 > until.current) event.currentTarget.pause(); }} />}
    <h2>{t("answer")}</h2>
    {!answer.sent_ms && <p>{t("no_answer")}</p>}
    {answer.notes.length > 0 && <section aria-label={t("notes")}><ol class="notes">{answer.notes.map((note) => <li key={note.id} class="leaf">
      {note.at && (note.word ? <p class="noted-word" lang="ar" dir="rtl">{note.word}</p> : <p class="faint"><bdi>{note.at}</bdi></p>)}
      {note.text && <p dir="auto">{note.text}</p>}
      {note.sound && <audio controls preload="metadata" aria-label={t("voice_note")} src={address(`mine/submissions/${id}/notes/${note.id}/audio`)} />}
      {!soundless && note.start_ms !== null && note.end_ms !== null && <button type="button" onClick={() => hear(note.start_ms!, note.end_ms!)}>{t("hear_place")}</button>}
    </li>)}</ol></section>}
    {answer.sent_ms > 0 && <section aria-labelledby="places"><h2 id="places">{t("places")}</h2>
      {work.length === 0 && <p class="faint">{t("no_places")}</p>}
      <ol class="notes">{work.map((site) => <li key={site.site} class="leaf">
        <p class="site-head"><span class="noted-word" lang="ar" dir="rtl">{site.word}</span>
          {site.name && <b style={{ borderColor: `var(--ink-${family(site.rule)})` }}>{in_lang(site, "name")}</b>}</p>
        <p>{site.fault_name ? in_lang(site, "fault_name") : t(told[site.told as keyof typeof told] ?? "told_fault")}</p>
        <Rulers site={site} names={[t("expected"), t("measured")]} />
        {!soundless && <button type="button" onClick={() => hear(site.start_ms, site.end_ms)}>{t("hear_place")}</button>}
      </li>)}</ol></section>}
    {well.length > 0 && <section aria-labelledby="well"><h2 id="well">{t("well")}</h2>
      <ul class="legend">{well.map((site) => <li key={site.site}><span class="noted-word" lang="ar" dir="rtl">{site.word}</span> {in_lang(site, "name")}</li>)}</ul></section>}
    {!answer.sent_ms && ["received", "refused"].includes(answer.state) && <p><button type="button" class="quiet" onClick={takeBack}>{t("take_back")}</button></p>}
    {trouble && <p class="trouble" role="alert">{trouble}</p>}
  </article>;
}
