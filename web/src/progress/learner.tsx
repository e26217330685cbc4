// One learner: rule by rule, letter by letter; what is due again; what to drill next.
import { address, get } from "../api";
import { useAsked, useDesk, useWords } from "../desk";
import { Go, Trouble, useTeaching } from "../class/choose";
import { dayText, heardText, type Class } from "../class/types";
import { classWords } from "../class/words";
import { span } from "./progress";
import { standing, type Known } from "./standing";
import { Span, Strip } from "./strip";

interface PersonProgress {
  person: { id: string; label: string }; rules: Known[]; due: { rule: string; name: string; name_ar: string; due_ms: number }[];
}
interface Skill { rule: string; name: string; name_ar: string }
interface Drill { skills: Skill[]; passages: { passage: string; title: string }[]; words: number; proved: boolean }
const utc_minutes = -new Date().getTimezoneOffset();

export function Learner({ now, id }: { now: Class; id: string }) {
  const t = useWords(classWords);
  const { lang, in_lang } = useDesk();
  const teaching = useTeaching();
  const asked = useAsked<PersonProgress>(id, (signal) => get(`people/${id}/progress`, {}, signal));
  const drill = useAsked<Drill>(id, (signal) => get(`people/${id}/drill`, {}, signal));
  const of = asked.value;
  const heard = of?.rules.filter((one) => one.heard > 0) ?? [];
  const [from, to] = span(heard);
  const due = of?.due.filter((one) => one.due_ms <= Date.now()) ?? [];
  return <>
    <p><Go to={`/progress/${now.id}`}>{t("all_class")}</Go></p>
    <h1><bdi>{of?.person.label ?? "…"}</bdi> <span class="faint"><bdi>{now.name}</bdi></span></h1>
    <p class="lead">{t("progress_lead")}</p>
    <Trouble of={asked.trouble ?? ""} />
    {of && <>
      <section aria-labelledby="due"><h2 id="due">{t("due_reviews")}</h2>
        {due.length === 0 ? <p class="faint">{t("due_none")}</p>
          : <ul class="chips">{due.map((one) => <li key={`${one.rule} ${one.name}`}>{in_lang(one, "name")} <span class="faint">{t("since")} {dayText(lang, one.due_ms)}</span></li>)}</ul>}</section>
      <section aria-labelledby="drill"><h2 id="drill">{t("drill")}</h2>
        {drill.trouble && <Trouble of={drill.trouble} />}
        {drill.value && (drill.value.passages.length === 0 ? <p class="faint">{t("drill_none")}</p>
          : <><p class="note">{t("drill_lead")}</p>
            <p>{t("weak")}: {drill.value.skills.map((one) => in_lang(one, "name")).join(lang === "ar" ? "، " : ", ")}</p>
            <ol class="drill">{drill.value.passages.map((one) => <li key={one.passage}>
              <Go to={`/text/${one.passage}`}><bdi>{one.title || one.passage}</bdi></Go>
              {teaching && <> <Go to={`/class/${now.id}/assignments?passage=${encodeURIComponent(one.passage)}&rules=${encodeURIComponent(
                [...new Set(drill.value!.skills.map((skill) => skill.rule))].join(" "))}`}>{t("give_this")}</Go></>}</li>)}</ol></>)}</section>
      <section aria-labelledby="rules"><h2 id="rules">{t("by_rule")}</h2>
        {heard.length === 0 && <p class="faint">{t("nothing_heard")}</p>}
        <ol class="rule-cards">{heard.map((one) => <li key={one.rule} class="leaf">
          <h3><b style={{ borderColor: `var(--ink-${one.family})` }}>{in_lang(one, "name")}</b></h3>
          <Strip of={one} from={from} to={to} ink={`var(--ink-${one.family})`} />
          <p>{t(standing(one))}</p>
          <p class="faint">{heardText(lang, one.heard)}{one.last_ms > 0 && <> · {t("last_heard")} {dayText(lang, one.last_ms)}</>}</p>
          {one.letters && one.letters.length > 0 && <dl class="letter-rows" aria-label={t("letters")}>{one.letters.map((letter) => <div key={letter.letter}>
            <dt>{in_lang(letter, "letter")}</dt>
            <dd><Span of={letter} ink={`var(--ink-${one.family})`} />
              <span class="faint">{t(standing(letter))}</span></dd></div>)}</dl>}
        </li>)}</ol>
        <p class="note">{t("key_text")}</p></section>
      <p class="row"><a href={address(`people/${id}/progress.pdf`, { labels: lang, utc_minutes })} download="">{t("pdf")}</a> <a href={address(`people/${id}/progress.pdf`, { for: "parent", labels: lang, utc_minutes })} download="">{t("pdf_parent")}</a> <a href={address(`people/${id}/progress.csv`, { lang })} download="">{t("csv")}</a></p>
    </>}
  </>;
}
