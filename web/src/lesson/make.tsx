// What is made of the lesson, by the desk, while the teacher goes on: progress, cancel, download.
import { useState } from "preact/hooks";
import { address, send } from "../api";
import { remember, remembered, useDesk } from "../desk";
import type { Key } from "../words";
import { useWork, type MadeFile, type Work } from "./jobs";

const parts = ["handout", "slides", "cards", "questions", "captions", "practice", "film", "enrolment", "zip"] as const;
const size = (bytes: number) => bytes < 1e6 ? `${Math.max(1, Math.round(bytes / 1e3))} kB` : `${(bytes / 1e6).toFixed(1)} MB`;

// What is printed or played comes first; pictures and single cards are many, and lie in a drawer.
const isOne = (file: MadeFile) => /\.(pdf|mp4|webm|zip|vtt|srt|wav|flac|ogg|opus|m4a|mp3)$/.test(file.name) && !file.name.startsWith("cards-");

function Files({ job }: { job: Work }) {
  const { t } = useDesk();
  const list = (files: MadeFile[]) => <ul class="files">{files.map((file) => <li key={file.name}>
    <a href={address(`jobs/${job.id}/files/${encodeURIComponent(file.name)}`)} download={file.name}><bdi>{file.name}</bdi></a>{" "}
    <span class="faint"><bdi>{size(file.bytes)}</bdi></span></li>)}</ul>;
  const ones = job.files.filter(isOne), rest = job.files.filter((file) => !isOne(file));
  return <>
    {ones.length > 0 && list(ones)}
    {rest.length > 0 && <details><summary>{t("other_files")} ({rest.length})</summary>{list(rest)}</details>}
  </>;
}

export function Make(props: { lesson: string; ready: () => Promise<void>; mistakes: boolean; takes: boolean }) {
  const { t, lang, in_lang } = useDesk();
  const [chosen, setChosen] = useState(() => new Set(remembered("parts")?.split(" ") ?? ["handout", "slides", "questions", "zip"]));
  const [trouble, setTrouble] = useState("");
  const { work, drop, add } = useWork(props.lesson);
  const act = (doing: Promise<unknown>) => { setTrouble(""); doing.catch((error: Error) => setTrouble(error.message)); };
  const make = async () => {
    await props.ready();
    add(await send<Work>("POST", `lessons/${props.lesson}/build`, { make: parts.filter((one) => chosen.has(one)) }));
  };
  const busy = work.some((one) => one.state === "waiting" || one.state === "running");
  return <section class="leaf make" aria-labelledby="make">
    <h2 id="make">{t("make")}</h2>
    <p class="note">{t("make_lead")}</p>
    <div class="row" role="group" aria-labelledby="make">{parts.map((one) => <label key={one} class="family">
      <input type="checkbox" checked={chosen.has(one)} disabled={!props.takes && ["captions", "practice", "film"].includes(one)} onChange={() => {
        const next = new Set(chosen);
        if (!next.delete(one)) next.add(one);
        setChosen(next);
        remember("parts", [...next].join(" "));
      }} />{t(`part_${one}`)}</label>)}</div>
    <button type="button" disabled={busy || props.mistakes || !parts.some((one) => chosen.has(one))} onClick={() => act(make())}>{t("make_it")}</button>
    {trouble && <p class="trouble" role="alert" lang="en" dir="ltr">{trouble}</p>}
    <ol class="work" aria-live="polite">{work.map((job) => <li key={job.id} data-state={job.state}>
      <p class="state"><span>{t(`job_${job.state}` as Key)}</span>
        <bdi>{new Date(job.made).toLocaleString(lang === "ar" ? "ar-u-nu-latn" : "en-GB", { dateStyle: "medium", timeStyle: "short" })}</bdi>
        {job.state === "running" && <progress max={1} value={job.progress} aria-label={t("job_running")} />}
        {job.state === "running" && parts.some((one) => one === job.doing) && <span>{t(`part_${job.doing}` as Key)}</span>}
        {job.state === "waiting" || job.state === "running"
          ? <button type="button" class="quiet" onClick={() => act(send("POST", `jobs/${job.id}/cancel`))}>{t("cancel")}</button>
          : <button type="button" class="quiet" onClick={() => act(send("DELETE", `jobs/${job.id}`).then(() => drop(job.id)))}>{t("remove")}</button>}</p>
      {job.reason && <p class="trouble" lang="en" dir="ltr">{job.reason}</p>}
      {job.result?.missing?.map((one, n) => <p key={n} class="trouble">{in_lang(one, "message")}</p>)}
      <Files job={job} />
    </li>)}</ol>
  </section>;
}
