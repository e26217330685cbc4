// Long work about one thing: how far it is, cancel, what it made to download.
import { address, send } from "../api";
import { useDesk } from "../desk";
import type { Key } from "../words";
import type { MadeFile, Work } from "./jobs";

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

// doing: what the step at work is called; null: nothing to say of it.
export function Works(props: { work: Work[]; drop: (id: string) => void; act: (doing: Promise<unknown>) => void; doing: (name: string) => string | null }) {
  const { t, lang, in_lang } = useDesk();
  return <ol class="work" aria-live="polite">{props.work.map((job) => {
    const doing = job.doing ? props.doing(job.doing) : null;
    return <li key={job.id} data-state={job.state}>
      <p class="state"><span>{t(`job_${job.state}` as Key)}</span>
        <bdi>{new Date(job.made).toLocaleString(lang === "ar" ? "ar-u-nu-latn" : "en-GB", { dateStyle: "medium", timeStyle: "short" })}</bdi>
        {job.state === "running" && <progress max={1} value={job.progress} aria-label={t("job_running")} />}
        {job.state === "running" && doing && <span>{doing}</span>}
        {job.state === "waiting" || job.state === "running"
          ? <button type="button" class="quiet" onClick={() => props.act(send("POST", `jobs/${job.id}/cancel`))}>{t("cancel")}</button>
          : <button type="button" class="quiet" onClick={() => props.act(send("DELETE", `jobs/${job.id}`).then(() => props.drop(job.id)))}>{t("remove")}</button>}</p>
      {job.reason && <p class="trouble">{in_lang(job, "reason")}</p>}
      {job.result?.missing?.map((one, n) => <p key={n} class="trouble">{in_lang(one, "message")}</p>)}
      <Files job={job} />
    </li>;
  })}</ol>;
}
