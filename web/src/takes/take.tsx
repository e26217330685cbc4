// One take: hear it, see it, and what was measured beside what is expected.
import { useEffect, useMemo, useRef, useState } from "preact/hooks";
import { address, get, once, send, type Rules } from "../api";
import { go, useAsked, useDesk } from "../desk";
import { Ruler } from "../text/explain";
import { Compare } from "./compare";
import { Film } from "./film";
import { HowOfTake } from "./how";
import { usePins } from "./pins";
import { clock, type Fault, type Job, type Report, type Take } from "./types";
import { VoiceOfTake } from "./voice";
import { Wave } from "./wave";

export function OneTake(props: { take: Take; takes: Take[]; job: Job | undefined; from_ms: number | null }) {
  const { t, lang, in_lang } = useDesk();
  const { take, job } = props;
  const audio = useRef<HTMLAudioElement>(null);
  const until = useRef<number | null>(null); // a fault is played to its end, not beyond
  const [rules, setRules] = useState<Rules | null>(null);
  const [picked, setPicked] = useState<number | null>(null);
  const [loop, setLoop] = useState(false);
  const [slow, setSlow] = useState(1);
  const [now, setNow] = useState(0);
  const [kind, setKind] = useState("");
  const [trouble, setTrouble] = useState("");
  const [correcting, setCorrecting] = useState(false);
  const edges = usePins(take.id, (error) => setTrouble(error.message));
  useEffect(() => { once<Rules>("rules").then(setRules, () => {}); }, []);
  const report = useAsked<Report>(take.report ? `${take.id} ${take.state} ${lang}` : null,
    (signal) => get(`takes/${take.id}/report`, { lang }, signal)).value;
  const familyOf = useMemo(() => new Map(rules?.rules.map((rule) => [rule.rule, rule.family])), [rules]);
  const nameOf = (rule: string) => { const known = rules?.rules.find((one) => one.rule === rule); return known ? in_lang(known, "name") : rule; };
  const lengthOf = (length: string) => { const known = rules?.lengths.find((one) => one.length === length); return known ? in_lang(known, "name") : length; };
  // Opened for one place of it.
  useEffect(() => { if (props.from_ms !== null && audio.current) audio.current.currentTime = props.from_ms / 1000; }, [props.from_ms]);
  const act = (doing: Promise<unknown>) => { setTrouble(""); doing.catch((error: Error) => setTrouble(error.message)); };

  // A site is played with a little before and after, once or over and over.
  const site = picked === null ? null : report?.sites[picked] ?? null;
  const margin = 250;
  useEffect(() => {
    let frame = 0;
    const tick = () => {
      const player = audio.current;
      if (player && !player.paused) {
        const ms = player.currentTime * 1000;
        setNow(ms);
        if (until.current !== null && ms > until.current) { until.current = null; player.pause(); }
        if (site && ms > site.end_ms + margin) {
          if (loop) player.currentTime = Math.max(0, site.start_ms - margin) / 1000;
          else { player.pause(); setPicked(null); }
        }
      }
      frame = requestAnimationFrame(tick);
    };
    frame = requestAnimationFrame(tick);
    return () => cancelAnimationFrame(frame);
  }, [site, loop]);
  useEffect(() => { if (audio.current) audio.current.playbackRate = slow; }, [slow]);
  const play = (ms: number, end_ms: number | null = null) => {
    until.current = end_ms;
    audio.current!.currentTime = Math.max(0, ms) / 1000;
    void audio.current!.play().catch(() => {});
  };
  const listed = (one: Fault, n: number) => <li key={n}><bdi class="scripture line" lang="ar" dir="rtl">{one.words}</bdi> {one.text}{" "}
    <button type="button" class="quiet" onClick={() => { setPicked(null); play(one.start_ms, one.end_ms); }} aria-label={`${t("play")}: ${one.text}`}>{t("play")}</button></li>;
  const pick = (n: number) => { setPicked(n); play(report!.sites[n]!.start_ms - margin); };
  const kinds = [...new Set(report?.sites.map((one) => one.rule))];
  return <div class="take">
    <p><a href="/takes" onClick={(event) => { event.preventDefault(); go("/takes"); }}>{t("all_takes")}</a></p>
    <h1>{take.name || take.title} <span class="faint"><bdi>{take.title}</bdi> · <bdi>{clock(take.seconds)}</bdi></span></h1>
    <div class="bar">
      <audio ref={audio} controls preload="metadata" src={address(`takes/${take.id}/audio`)} onSeeked={(event) => setNow(event.currentTarget.currentTime * 1000)} />
      <label class="family"><input type="checkbox" checked={loop} onChange={() => setLoop(!loop)} />{t("loop")}</label>
      <label class="speed">{t("speed")}<select value={slow} onChange={(event) => setSlow(Number(event.currentTarget.value))}>
        {[1, 0.75, 0.5].map((rate) => <option key={rate} value={rate}>{rate}×</option>)}</select></label>
      <button type="button" class="quiet" aria-pressed={take.chosen} onClick={() => act(send("PATCH", `takes/${take.id}`, { chosen: !take.chosen }))}>
        {t(take.chosen ? "is_published" : "publish_this")}</button>
      {report && <button type="button" class="quiet" aria-pressed={correcting} onClick={() => setCorrecting(!correcting)}>{t("correct_edges")}</button>}
      {correcting && <button type="button" class="quiet" disabled={!edges.moved} onClick={edges.undo}>{t("undo")}</button>}
      <button type="button" disabled={!!take.job} onClick={() => act(send("POST", `takes/${take.id}/listen`))}>{t("listen")}</button>
      {take.job && <button type="button" class="quiet" onClick={() => act(send("POST", `jobs/${take.job}/cancel`))}>{t("cancel")}</button>}
    </div>
    <State take={take} job={job} />
    {correcting && <p class="note">{t("correct_lead")}</p>}
    {edges.moved > 0 && <p class="note" role="status">{t("edges_moved")}</p>}
    {trouble && <p class="trouble" role="alert">{trouble}</p>}
    {report?.quality.warnings.map((one) => <p key={one.kind} class="trouble">{one.text}</p>)}
    <Wave take={take} report={report} now={now} picked={picked} familyOf={familyOf} seek={play} pick={pick}
      pins={correcting ? edges.pins : null} pin={edges.pin} />
    {report && <div class="leaf">
      <h2 id="measured">{t("measured_beside")}</h2>
      {report.faults && report.faults.length > 0 && <ol class="findings heard-faults">{report.faults.map(listed)}</ol>}
      {report.cannot_tell && report.cannot_tell.length > 0 && <ul class="findings heard-faults faint">{report.cannot_tell.map(listed)}</ul>}
      {report.findings.length > 0 && <ul class="findings">{report.findings.map((one, n) => <li key={n}>{one.text}</li>)}</ul>}
      <label class="kinds">{t("rule")}<select value={kind} onChange={(event) => setKind(event.currentTarget.value)}>
        <option value="">{t("all")}</option>
        {kinds.map((one) => <option key={one} value={one}>{nameOf(one)}</option>)}</select></label>
      <div class="scroll" tabindex={0} role="region" aria-labelledby="measured"><table>
        <thead><tr><th>{t("site")}</th><th>{t("expected")}</th><th>{t("measured")}</th><th>{t("hear_it")}</th></tr></thead>
        <tbody>{report.sites.map((one, n) => (!kind || one.rule === kind) && <tr key={n} aria-current={picked === n ? "true" : undefined}>
          <td><b style={{ borderColor: `var(--ink-${familyOf.get(one.rule) ?? "seam"})` }}>{nameOf(one.rule)}</b> <bdi class="faint">{one.at}</bdi></td>
          <td>{one.expected_counts !== null && <Ruler counts={one.expected_counts} />}</td>
          <td>{one.measured_counts !== null ? <Ruler counts={Math.round(one.measured_counts * 10) / 10} /> : t("not_measured")}</td>
          <td><button type="button" class="quiet" onClick={() => pick(n)} aria-label={`${t("play")} ${nameOf(one.rule)} ${one.at}`}>{t("play")}</button></td>
        </tr>)}</tbody></table></div>
      <p class="note">{report.reminder}</p>
      <p class="leaf-foot">{["pdf", "html", "vtt", "tsv", "txt"].map((form) =>
        <a key={form} href={address(`takes/${take.id}/report.${form}`, form === "pdf" || form === "html" ? { lang } : {})} download="">{form.toUpperCase()}</a>)}
        <a href={address(`takes/${take.id}/audio`)} download="">{t("sound")}</a></p>
    </div>}
    {report && <Compare take={take} nameOf={nameOf} lengthOf={lengthOf} inkOf={(rule) => `var(--ink-${familyOf.get(rule) ?? "seam"})`}
      others={props.takes.filter((one) => one.id !== take.id && one.passage === take.passage && one.report)} />}
    <HowOfTake take={take} act={act} />
    <VoiceOfTake take={take} act={act} />
    {report && <Film take={take} act={act} />}
  </div>;
}

export function State(props: { take: Take; job: Job | undefined }) {
  const { t, in_lang } = useDesk();
  const { take, job } = props;
  const states = { new: "state_new", waiting: "state_waiting", listening: "state_listening", heard: "state_heard", refused: "state_refused" } as const;
  return <div class="state" role="status">
    <span>{t(states[take.state as keyof typeof states] ?? "state_new")}</span>
    {job && job.state === "running" && <progress max={1} value={job.progress} aria-label={t("state_listening")} />}
    {take.problem && <p class="trouble">{in_lang(take, "problem")}</p>}
  </div>;
}
