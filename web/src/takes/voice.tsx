// Voices that were learned: the one a take is heard with, and a new one from it.
import { useEffect, useState } from "preact/hooks";
import { get, send } from "../api";
import { useDesk } from "../desk";
import { useTold, useWork } from "../lesson/jobs";
import type { Take } from "./types";

export function useVoices(): string[] | null {
  const [names, setNames] = useState<string[] | null>(null);
  const load = () => void get<{ voices: { name: string }[] }>("voices").then((found) => setNames(found.voices.map((one) => one.name)), () => {});
  useEffect(load, []);
  useTold("voice", load);
  return names;
}

export function VoiceChoice(props: { label: string; none: string; value: string; set: (name: string) => void; disabled?: boolean }) {
  const { t } = useDesk();
  const names = useVoices();
  const gone = props.value && names && !names.includes(props.value);
  return <label>{props.label}<select value={props.value} disabled={props.disabled ?? false} onChange={(event) => props.set(event.currentTarget.value)}>
    <option value="">{props.none}</option>
    {gone && <option value={props.value}>{props.value} ({t("voice_missing")})</option>}
    {names === null && props.value && <option value={props.value}>{props.value}</option>}
    {names?.map((name) => <option key={name} value={name}>{name}</option>)}</select></label>;
}

export function VoiceOfTake(props: { take: Take; act: (doing: Promise<unknown>) => void }) {
  const { t, in_lang } = useDesk();
  const { take, act } = props;
  const [name, setName] = useState("");
  const [learning, setLearning] = useState("");
  const { work, add } = useWork(learning, "voice");
  const job = learning ? work[0] : undefined, busy = job?.state === "waiting" || job?.state === "running";
  const change = (what: Partial<Take>) => act(send("PATCH", `takes/${take.id}`, what));
  return <section class="leaf slim voice" aria-labelledby="voice">
    <h2 id="voice">{t("voice")}</h2>
    <p class="note">{t("voice_short")}</p>
    <div class="bar">
      <VoiceChoice label={t("voice")} none={t("voice_itself")} value={take.voice ?? ""} disabled={!!take.job} set={(voice) => change({ voice: voice || null })} />
      {take.voice && <label class="family"><input type="checkbox" checked={take.keep_voice} disabled={!!take.job} onChange={() => change({ keep_voice: !take.keep_voice })} />{t("voice_keep")}</label>}
    </div>
    {take.report && <form class="bar" onSubmit={(event) => {
      event.preventDefault();
      const called = name.trim();
      act(send<NonNullable<typeof job>>("POST", "voices", { name: called, takes: [take.id] }).then((promised) => { setLearning(called); add(promised); setName(""); }));
    }}>
      <label>{t("voice_name")}<input type="text" dir="auto" value={name} maxLength={60} onInput={(event) => setName(event.currentTarget.value)} /></label>
      <button type="submit" class="quiet" disabled={busy || !name.trim()}>{t("voice_learn")}</button>
    </form>}
    <div role="status">{busy && <><span>{t("doing_learning")} <bdi>{learning}</bdi></span> <progress max={1} value={job!.progress} aria-label={t("doing_learning")} />
      {" "}<button type="button" class="quiet" onClick={() => act(send("POST", `jobs/${job!.id}/cancel`))}>{t("cancel")}</button></>}
      {job?.state === "done" && <span>{t("voice_learned")} <bdi>{learning}</bdi></span>}</div>
    {job?.reason && <p class="trouble" role="alert">{in_lang(job, "reason")}</p>}
  </section>;
}
