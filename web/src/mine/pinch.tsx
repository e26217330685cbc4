// The old test of the nose: the same words twice, the second time with the nose pinched shut.
import { useMemo, useState } from "preact/hooks";
import { get, send, type Reading } from "../api";
import { useAsked, useDesk, useWords } from "../desk";
import { Recorder } from "../takes/record";
import { part_bytes } from "./outbox";
import { useSound } from "./recording";
import { verseNumber, verseOf, type Given } from "./types";
import { useVerseName } from "./verses";
import { mineWords } from "./words";

const ask_ms = 1000;
interface Job { job: string; state: string; reason: string | null; reason_ar: string | null; result?: Verdict | null }
interface Verdict {
  verdict: string; text: string; text_ar: string; sureness: number;
  sites: { at: string; word: string; verdict: string; text: string; text_ar: string; sureness: number }[];
}
const wait = (ms: number) => new Promise((go) => setTimeout(go, ms));

async function upload(assignment: string, sound: Blob): Promise<string> {
  const made = await send<{ upload: string; have: number }>("POST", "mine/uploads", { assignment, type: sound.type, bytes: sound.size });
  for (let have = made.have; have < sound.size;)
    have = (await send<{ have: number }>("PUT", `mine/uploads/${made.upload}`, sound.slice(have, have + part_bytes, sound.type), { offset: have })).have;
  return made.upload;
}

export function Pinch({ given }: { given: Given }) {
  const t = useWords(mineWords);
  const { lang, in_lang } = useDesk();
  const reading = useAsked<Reading>(`${given.passage} ${lang}`, (signal) => get("reading", { ...given.how, passage: given.passage, lang }, signal)).value;
  // A verse is a breath; those with a nasal sound that is held.
  const verses = useMemo(() => {
    const found = new Map<string, string>();
    for (const site of reading?.sites ?? []) {
      if (!site.nasal || !site.counts) continue;
      const verse = verseOf(reading!.words[reading!.letters[site.trigger]!.word]!.verse);
      found.set(verse, reading!.words.filter((word) => verseOf(word.verse) === verse).map((word) => word.display).join(" "));
    }
    return [...found].filter(([verse]) => verseNumber(verse) !== "0");
  }, [reading]);
  const called = useVerseName(verses.map(([one]) => one));
  const [chosen, setChosen] = useState("");
  const [open, setOpen] = useState<Blob | null>(null);
  const [shut, setShut] = useState<Blob | null>(null);
  const [busy, setBusy] = useState(false);
  const [trouble, setTrouble] = useState("");
  const [verdict, setVerdict] = useState<Verdict | null>(null);
  const [recording, setRecording] = useState("");
  const verse = chosen || (verses[0]?.[0] ?? "");
  const openSound = useSound(open && `open ${open.size}`, () => Promise.resolve(open!));
  const shutSound = useSound(shut && `shut ${shut.size}`, () => Promise.resolve(shut!));
  const anew = () => { setOpen(null); setShut(null); setVerdict(null); setTrouble(""); };
  const compare = async () => {
    setBusy(true);
    setTrouble("");
    try {
      let job = await send<Job>("POST", "mine/pinch", { passage: verse, open: await upload(given.id, open!), pinched: await upload(given.id, shut!) });
      while (job.state === "waiting" || job.state === "running") {
        await wait(ask_ms);
        job = await get<Job>("mine/pinch", { job: job.job });
      }
      if (job.state === "done" && job.result) setVerdict(job.result);
      else setTrouble(in_lang(job, "reason") || job.state);
    } catch (error) { setTrouble((error as Error).message); }
    setBusy(false);
  };
  const said = { dies: "pinch_right", changes: "pinch_right", stays: "pinch_wrong" } as const;
  const sure = (n: number) => t(n >= 0.9 ? "sure_very" : n >= 0.7 ? "sure_fair" : "sure_not");
  return <article class="pinch">
    <h1>{t("pinch")}</h1>
    <p>{t("pinch_lead")}</p>
    {reading && verses.length === 0 && <p class="faint">{t("pinch_none")}</p>}
    {verses.length > 0 && <>
      {verses.length > 1 && <label>{t("pinch_words")}<select value={verse} onChange={(event) => { setChosen(event.currentTarget.value); anew(); }}>
        {verses.map(([one]) => <option key={one} value={one}>{t("verse")} {called(one)}</option>)}</select></label>}
      <p class="scripture line leaf" lang="ar" dir="rtl">{verses.find(([one]) => one === verse)?.[1]}</p>
      {([["pinch_open", openSound, setOpen], ["pinch_shut", shutSound, setShut]] as const).map(([name, sound, keep]) =>
        <section key={name} class="part" aria-labelledby={name}><h2 id={name}>{t(name)}</h2>
          <div class="part-tools"><Recorder plain disabled={busy || (recording !== "" && recording !== name)} begin={sound ? t("record_again") : undefined}
            begun={() => { setRecording(name); setVerdict(null); }} done={(blob) => { keep(blob); setRecording(""); }} />
            {sound && <audio controls src={sound} aria-label={t(name)} />}</div></section>)}
      <p class="row"><button type="button" disabled={!open || !shut || busy || recording !== ""} onClick={() => void compare()}>{t("pinch_compare")}</button></p>
    </>}
    <div aria-live="polite">
      {busy && <p>{t("pinch_works")}</p>}
      {trouble && <p class="trouble" dir="auto">{trouble}</p>}
      {verdict && <section class="leaf verdict">
        <h2>{t(said[verdict.verdict as keyof typeof said] ?? "pinch_cannot")}</h2>
        <p>{sure(verdict.sureness)}. {t("teacher_decides")}</p>
        <ul>{verdict.sites.map((one, n) => <li key={n}><span class="noted-word" lang="ar" dir="rtl">{one.word}</span> {in_lang(one, "text")}</li>)}</ul>
        <button type="button" class="quiet" onClick={anew}>{t("pinch_again")}</button>
      </section>}
    </div>
    <p class="note">{t("rest")}</p>
  </article>;
}
