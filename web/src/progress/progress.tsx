// What each learner and the class knows and needs next: small multiples, learner by rule. Words, no marks.
import { useEffect, useState } from "preact/hooks";
import { address, get, once, type Rules } from "../api";
import { remember, useAsked, useDesk, useWords, type Place } from "../desk";
import { ClassPicker, classNow, Go, Trouble, useClasses } from "../class/choose";
import { classWords } from "../class/words";
import { Learner } from "./learner";
import { standing, type Known } from "./standing";
import { Span } from "./strip";

interface ClassProgress {
  rules: { rule: string; name: string; name_ar: string; family: string }[];
  people: { id: string; label: string; rules: Known[] }[];
  // What at least half of them miss, as likely as not; how many, with bounds.
  missed: { rule: string; name: string; name_ar: string; learners: number; low: number; high: number; of: number }[];
}

export const span = (all: Known[]) => {
  const times = all.flatMap((one) => (one.course ?? []).map((point) => point.made_ms));
  return times.length ? [Math.min(...times), Math.max(...times)] as const : [0, 0] as const;
};

export function ProgressScreen({ place }: { place: Place }) {
  const t = useWords(classWords);
  const { classes, trouble } = useClasses();
  const now = classes ? classNow(classes, place.path[1]) : undefined;
  useEffect(() => { if (now) remember("class", now.id); }, [now?.id]);
  if (!classes) return <p role={trouble ? "alert" : "status"}>{trouble || "…"}</p>;
  if (!now) return <div class="progress-page"><p class="faint">{t("no_class")} <Go to="/class">{t("classes")}</Go></p></div>;
  const person = place.path[2];
  return <div class="progress-page">
    {person ? <Learner key={person} now={now} id={person} />
      : <><div class="class-head"><h1><bdi>{now.name}</bdi></h1><ClassPicker classes={classes} now={now} to="progress" /></div><WholeClass key={now.id} id={now.id} /></>}
  </div>;
}

function WholeClass({ id }: { id: string }) {
  const t = useWords(classWords);
  const { lang, in_lang } = useDesk();
  const [rules, setRules] = useState<Rules | null>(null);
  useEffect(() => { once<Rules>("rules").then(setRules, () => {}); }, []);
  const asked = useAsked<ClassProgress>(id, (signal) => get(`classes/${id}/progress`, {}, signal));
  const of = asked.value;
  const shown = of?.rules.filter((rule) => of.people.some((one) => one.rules.some((known) => known.rule === rule.rule && known.heard > 0))) ?? [];
  const family = (rule: { rule: string; family?: string }) => rule.family ?? rules?.rules.find((one) => one.rule === rule.rule)?.family ?? "seam";
  return <>
    <p class="lead">{t("class_progress_lead")}</p>
    <Trouble of={asked.trouble ?? ""} />
    {!of && !asked.trouble && <p role="status">…</p>}
    {of && <>
      <section aria-labelledby="missed"><h2 id="missed">{t("missed")}</h2>
        {of.missed.length === 0 && <p class="faint">{t("missed_none")}</p>}
        <ol class="missed">{of.missed.map((one, n) => <li key={n}>
          <b style={{ borderColor: `var(--ink-${family(one)})` }}>{in_lang(one, "name")}</b>
          <span class="people-marks" aria-hidden="true">{Array.from({ length: one.of }, (_, k) => <i key={k} class={k < one.learners ? "there" : undefined} />)}</span>
          <span class="faint"><bdi>{one.learners}</bdi>{one.low < one.high && <> (<bdi>{one.low}–{one.high}</bdi>)</>} {t("of_them")} <bdi>{one.of}</bdi></span></li>)}</ol></section>
      <section aria-labelledby="by-learner"><h2 id="by-learner">{t("by_learner")}</h2>
        {shown.length === 0 ? <p class="faint">{t("nothing_heard")}</p>
          : <div class="scroll multiples" tabindex={0} role="group" aria-label={t("by_learner")}><table>
            <thead><tr><th scope="col"><span class="unseen">{t("who")}</span></th>{shown.map((rule) => <th scope="col" key={rule.rule}>
              <b style={{ borderColor: `var(--ink-${family(rule)})` }}>{in_lang(rule, "name")}</b></th>)}</tr></thead>
            <tbody>{of.people.map((one) => <tr key={one.id}>
              <th scope="row"><Go to={`/progress/${id}/${one.id}`}>{one.label}</Go></th>
              {shown.map((rule) => {
                const known = one.rules.find((other) => other.rule === rule.rule);
                return <td key={rule.rule}>{known && known.heard > 0
                  ? <><Span of={known} ink={`var(--ink-${family(rule)})`} /><span class="faint">{t(standing(known))}</span></>
                  : <span class="faint">{t("not_heard")}</span>}</td>;
              })}</tr>)}</tbody></table></div>}
        <p class="note">{t("key_now")}</p></section>
      <p class="row"><a href={address(`classes/${id}/progress.pdf`, { labels: lang, utc_minutes: -new Date().getTimezoneOffset() })} download="">{t("pdf")}</a> <a href={address(`classes/${id}/progress.csv`, { lang })} download="">{t("csv")}</a></p>
    </>}
  </>;
}
