// A passage of the lesson: where, with which stops, and how its marks fade line by line, beside the
// page as the server prints it.
import { useEffect, useId, useState } from "preact/hooks";
import { address, type Query, type Rules } from "../api";
import { useDesk } from "../desk";
import type { Key } from "../words";
import type { Problem } from "./editor";
import { lineOf, listOf, setValue, valueOf, type Section } from "./file";
import { at, Choice, Field, Marked } from "./parts";
import { usePicture } from "./picture";

const stages = [0, 1, 2, 3, 4] as const;

export function PassagePart(props: {
  section: Section; n: number; edit: (change: (text: string) => string, what?: string) => void; problems: Problem[]; rules: Rules | null;
  taught: string[]; taughtText: string; how: Query; labels: string; title: string;
}) {
  const { t, theme, in_lang } = useDesk();
  const { section, n, problems } = props, id = useId();
  const range = valueOf(section.entries, "range"), fade = valueOf(section.entries, "fade") || "none";
  const stops = valueOf(section.entries, "stops") || "verses", listed = /^\d/.test(stops);
  const set = (key: string, value: string, what?: string) => props.edit((text) => setValue(text, n, key, value), what);
  const [number, setNumber] = useState(1);
  const how = { ...props.how, stops: listOf(stops).join(",") };
  const known = /^[0-4](\s*,\s*[0-4])*$/.test(fade) ? listOf(fade).map(Number) : null;
  const { page, trouble, fresh } = usePicture(range && props.taughtText ? address("sheet.svg", {
    passage: range, rules: props.taughtText, ...how, labels: props.labels, title: props.title, theme, page: Math.max(1, number),
    ...(known ? { stages: known.join(",") } : fade === "evenly" ? { fade: 1 } : {}),
  }) : null);
  const lines = page?.lines ?? known?.length ?? 1;
  useEffect(() => { if (page && number > page.pages) setNumber(1); }, [page]);
  const stageOf = (line: number) => known ? known[Math.min(line, known.length - 1)]! : 0;
  const mode = known ? "lines" : fade;
  const setMode = (next: string) => set("fade", next !== "lines" ? next
    : Array.from({ length: lines }, (_, line) => fade === "evenly" && lines > 1 ? Math.round(line * 4 / (lines - 1)) : 0).join(","));
  const setStage = (line: number, stage: number) =>
    set("fade", Array.from({ length: Math.max(lines, line + 1) }, (_, k) => k === line ? stage : stageOf(k)).join(","), `fade ${n} ${line}`);
  const own = (key: string) => at(problems, lineOf(section.entries, key));
  return <div class="passage-part">
    <div class="bar">
      <Field label={t("range_of")} value={range} set={(value) => set("range", value, `range ${n}`)} problems={own("range")} />
      <Choice label={t("stops")} value={listed ? "own" : stops} set={(value) => { if (value !== "own") set("stops", value); }}
        choices={[["verses", t("at_verses")], ["signs", t("at_signs")], ["none", t("no_stops")], ...(listed ? [["own", t("own_stops")] as [string, string]] : [])]} />
      <Choice label={t("fading")} value={mode} set={setMode}
        choices={[["evenly", t("fade_evenly")], ["none", t("fade_none")], ["lines", t("fade_lines")]]} />
    </div>
    {[...own("stops"), ...own("fade")].map((one, k) => <p key={k} class="trouble"><span class="faint">{t("problem_line")} {one.line}: </span><span>{in_lang(one, "message")}</span></p>)}
    <details><summary>{t("set_stops")}</summary>
      {range && <Marked passage={range} how={how} taught={props.taught} rules={props.rules} stops={(list) => set("stops", list)} />}
    </details>
    <div class="fade">
      {known && <ol class="fade-lines" aria-label={t("fading")}>{Array.from({ length: lines }, (_, line) => {
        const stage = stageOf(line), name = t(`stage_${stage}` as Key);
        return <li key={line}>
          <label for={`${id}${line}`}>{t("line_n")} {line + 1}</label>
          <input id={`${id}${line}`} type="range" min={0} max={4} step={1} value={stage} aria-valuetext={name}
            onInput={(event) => setStage(line, Number(event.currentTarget.value))} />
          <span class="faint">{name}</span></li>;
      })}</ol>}
      <figure class="sheet-page" aria-busy={!fresh}>
        <figcaption class="faint">{t("sheet_preview")}{page && page.pages > 1 && <>
          {" · "}<button type="button" class="quiet" disabled={number <= 1} onClick={() => setNumber(number - 1)}>{t("before")}</button>
          {" "}{t("page_n")} {number}/{page.pages}{" "}
          <button type="button" class="quiet" disabled={number >= page.pages} onClick={() => setNumber(number + 1)}>{t("after")}</button></>}</figcaption>
        {trouble && <p class="trouble">{trouble}</p>}
        {page && !trouble && <img src={page.at} alt={`${t("sheet_preview")}: ${range}, ${lines} × ${t("line_n")}`} />}
      </figure>
    </div>
    {known && <p class="stage-key faint">{stages.map((stage) => <span key={stage}>{stage} {t(`stage_${stage}` as Key)}</span>)}</p>}
  </div>;
}
