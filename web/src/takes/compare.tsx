// Two takes of one passage beside each other: pace, each kind of length, every site.
import { useState } from "preact/hooks";
import { get, send } from "../api";
import { useDesk } from "../desk";
import type { Job, Take } from "./types";

interface Beside {
  pace_ratio: number | null; only_first: number; only_second: number;
  classes: { length: string; first_median_ms: number; second_median_ms: number; ratio: number }[];
  sites: { rule: string; at: string; first_held_ms: number; second_held_ms: number; ratio: number }[];
}
const ask_ms = 400;
const times = (ratio: number | null) => ratio === null ? "–" : `${ratio.toFixed(2)}×`;

export function Compare(props: {
  take: Take; others: Take[]; nameOf: (rule: string) => string; lengthOf: (length: string) => string; inkOf: (rule: string) => string;
}) {
  const { t, lang, in_lang } = useDesk();
  const [other, setOther] = useState("");
  const [beside, setBeside] = useState<Beside | null>(null);
  const [state, setState] = useState("");
  const [busy, setBusy] = useState(false);
  const compare = async (second: string) => {
    setOther(second);
    setBeside(null);
    setState("");
    if (!second) return;
    setBusy(true);
    try {
      let job = await send<Job & { result: Beside | null }>("POST", "comparisons", { first: props.take.id, second });
      while (job.state === "waiting" || job.state === "running") {
        await new Promise((go) => setTimeout(go, ask_ms));
        job = await get(`jobs/${job.id}`);
      }
      if (job.state === "done" && job.result) setBeside(job.result);
      else setState(in_lang(job, "reason") || job.state);
    } catch (error) { setState((error as Error).message); }
    setBusy(false);
  };
  const nameOf = (take: Take | undefined) => take?.name || take?.title || "";
  const first = nameOf(props.take), second = nameOf(props.others.find((take) => take.id === other));
  // As long as each was held, on one scale.
  const bars = (a: number, b: number, most: number) => <span class="two-bars" aria-hidden="true">
    <i style={{ inlineSize: `${a / most * 100}%` }} /><i style={{ inlineSize: `${b / most * 100}%` }} /></span>;
  const longest = Math.max(1, ...(beside?.sites ?? []).flatMap((site) => [site.first_held_ms, site.second_held_ms]));
  const slowest = Math.max(1, ...(beside?.classes ?? []).flatMap((one) => [one.first_median_ms, one.second_median_ms]));
  const ms = (value: number) => `${Math.round(value)} ms`;
  return <section class="leaf compare" aria-labelledby="compared">
    <h2 id="compared">{t("compare")}</h2>
    {props.others.length === 0 ? <p class="faint">{t("no_other_take")}</p> : <label class="kinds">{t("compare_with")}
      <select value={other} disabled={busy} onChange={(event) => void compare(event.currentTarget.value)}>
        <option value="" />{props.others.map((take) => <option key={take.id} value={take.id}>{nameOf(take)} · {new Date(take.made).toLocaleDateString(lang === "ar" ? "ar-u-nu-latn" : "en-GB")}</option>)}
      </select></label>}
    <div aria-live="polite">
      {busy && <p>{t("waiting")}</p>}
      {state && <p class="trouble">{state}</p>}
      {beside && <>
        <p>{t("pace_of_second")}: <b><bdi>{times(beside.pace_ratio)}</bdi></b> <span class="faint">{t("pace_taken_out")}</span></p>
        <div class="scroll" tabindex={0} role="region" aria-label={t("by_kind")}><table>
          <thead><tr><th>{t("by_kind")}</th><th><bdi>{first}</bdi></th><th><bdi>{second}</bdi></th><th>{t("ratio")}</th><th><span class="unseen">{t("compare")}</span></th></tr></thead>
          <tbody>{beside.classes.map((one) => <tr key={one.length}><td>{props.lengthOf(one.length)}</td><td><bdi>{ms(one.first_median_ms)}</bdi></td><td><bdi>{ms(one.second_median_ms)}</bdi></td>
            <td><bdi>{times(one.ratio)}</bdi></td><td>{bars(one.first_median_ms, one.second_median_ms, slowest)}</td></tr>)}</tbody></table></div>
        <div class="scroll" tabindex={0} role="region" aria-label={t("site")}><table>
          <thead><tr><th>{t("site")}</th><th><bdi>{first}</bdi></th><th><bdi>{second}</bdi></th><th>{t("ratio")}</th><th><span class="unseen">{t("compare")}</span></th></tr></thead>
          <tbody>{beside.sites.map((one, n) => <tr key={n} class="beside-site"><td><b style={{ borderColor: props.inkOf(one.rule) }}>{props.nameOf(one.rule)}</b> <bdi class="faint">{one.at}</bdi></td>
            <td><bdi>{ms(one.first_held_ms)}</bdi></td><td><bdi>{ms(one.second_held_ms)}</bdi></td><td><bdi>{times(one.ratio)}</bdi></td><td>{bars(one.first_held_ms, one.second_held_ms, longest)}</td></tr>)}</tbody></table></div>
      </>}
    </div>
  </section>;
}
