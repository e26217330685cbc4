// Course: what is taught when, by whose chapters, and what the plan leaves out.
import { useEffect, useMemo, useState } from "preact/hooks";
import { get, once, send } from "../api";
import { go, useDesk } from "../desk";
import { useEditor, type Kept } from "../lesson/editor";
import { dropSection, lineOf, listOf, moveSection, readFile, setValue, valueOf, type LessonFile } from "../lesson/file";
import { Frame } from "../lesson/frame";
import { at, Field, Ordered, RuleList, useRuleName, useRules } from "../lesson/parts";
import { Missing } from "./missing";
import { usePlan, type Plan } from "./plan";

const fields = ["title", "title ar", "chapter", "chapter ar", "rules", "examples", "passage", "file", "date"];
const lessonId = (file: string) => /^([a-z0-9]{16})\.lesson$/.exec(file)?.[1];
// The same weekday a number of weeks later.
function weeksAfter(day: string, weeks: number): string {
  const date = new Date(`${day}T12:00:00Z`);
  date.setUTCDate(date.getUTCDate() + 7 * weeks);
  return date.toISOString().slice(0, 10);
}

export function CourseScreen() {
  const { t, lang } = useDesk();
  const editor = useEditor("course");
  const { text, kept, problems, edit } = editor;
  const rules = useRules(), nameOf = useRuleName(rules);
  const file = useMemo(() => readFile(text ?? ""), [text]);
  const [trouble, setTrouble] = useState("");
  const [there, setThere] = useState<Map<string, number> | null>(null); // lessons and their revisions
  const act = (doing: Promise<unknown>) => { setTrouble(""); doing.catch((error: Error) => setTrouble(error.message)); };
  useEffect(() => { get<{ lessons: { id: string; revision: number }[] }>("lessons").then((found) => setThere(new Map(found.lessons.map((one) => [one.id, one.revision]))), () => {}); }, []);

  // What is missing is asked of the plan as it is saved, and not for days and titles: the whole text
  // is gone through for it.
  const broken = !kept?.text || [...problems, ...kept.problems].some((one) => !one.advice);
  const key = broken || !there ? null : kept!.text.split("\n").filter((line) => !/^\s*(title|title ar|chapter|chapter ar|source|source ar|date)\s*:|^\s*(#|$)/.test(line))
    .map((line) => `${line} ${there.get(/^\s*file\s*:\s*([a-z0-9]{16})\.lesson/.exec(line)?.[1] ?? "") ?? ""}`).join("\n");
  const plan = usePlan(key);

  if (text === null) return <div class="course"><h1>{t("course")}</h1>
    {editor.trouble ? <p class="trouble" role="alert">{editor.trouble} <button type="button" class="quiet" onClick={editor.load}>{t("try_again")}</button></p>
      : <p role="status">{t("waiting")}</p>}</div>;
  if (!text.trim()) return <div class="course">
    <h1>{t("course")}</h1>
    <p class="lead">{t("course_lead")}</p>
    <p class="faint">{t("no_course")}</p>
    {(trouble || editor.trouble) && <p class="trouble" role="alert">{trouble || editor.trouble}</p>}
    <div class="bar">
      <button type="button" onClick={() => act(once<{ text: string }>("course/default").then((found) => edit(() => found.text)))}>{t("begin_default")}</button>
      <button type="button" class="quiet" onClick={() => edit(() => `mistara course 1\n\ntitle: ${t("course")}\n\n[lesson]\ntitle: ${t("new_lesson")}\nrules: ikhfa\npassage: juz 30\n`)}>{t("begin_empty")}</button>
      {editor.canUndo && <button type="button" class="quiet" onClick={editor.undo}>{t("undo")}</button>}
    </div>
  </div>;

  const head = (key: string) => valueOf(file.head, key);
  const set = (section: number | null, key: string) => (value: string) => edit((all) => setValue(all, section, key, value), `${section} ${key}`);
  const claimed = new Set<number>([...file.head.map((one) => one.line),
    ...file.sections.flatMap((one) => [one.head, ...one.entries.filter((entry) => fields.includes(entry.key)).map((entry) => entry.line)])]);
  const write = async (n: number) => {
    const one = file.sections[n]!, of = (key: string) => valueOf(one.entries, key);
    const known = [...listOf(head("assumed")), ...file.sections.slice(0, n).flatMap((before) => listOf(valueOf(before.entries, "rules")))];
    let { text: draft } = await send<{ text: string }>("POST", "lessons/draft",
      { rules: of("rules"), in: of("examples") || null, known: [...new Set(known)].filter((rule) => !listOf(of("rules")).includes(rule)).join(",") });
    for (const key of ["title", "title ar"]) if (of(key)) draft = setValue(draft, null, key, of(key));
    const { id } = await send<Kept>("POST", "lessons", { text: draft });
    edit((all) => setValue(all, n, "file", `${id}.lesson`));
    await editor.save();
    go(`/lessons/${id}`);
  };
  const weekly = (n: number, day: string) => edit((all) => {
    let next = all;
    for (let k = n + 1; k < file.sections.length; k++) next = setValue(next, k, "date", weeksAfter(day, k - n));
    return next;
  });
  const source = (lang === "ar" && head("source ar")) || head("source") || head("source ar");
  return <div class="course">
    <h1><bdi>{(lang === "ar" && head("title ar")) || head("title") || t("course")}</bdi></h1>
    <p class="lead">{t("course_lead")}</p>
    {trouble && <p class="trouble" role="alert">{trouble}</p>}
    <Frame editor={editor} file={t("course_text")} claimed={claimed}>
      <div class="plan">
        <section aria-labelledby="plan">
          <h2 id="plan" class="unseen">{t("plan")}</h2>
          <Ordered class="lessons-of-course" move={(from, to) => edit((all) => moveSection(all, from, to))} drop={(n) => edit((all) => dropSection(all, n))}
            items={file.sections.map((one, n) => {
              const of = (key: string) => valueOf(one.entries, key), own = (key: string) => at(problems, lineOf(one.entries, key));
              const title = (lang === "ar" && of("title ar")) || of("title") || of("title ar") || t("untitled");
              const named = (entries: typeof one.entries) => (lang === "ar" && valueOf(entries, "chapter ar")) || valueOf(entries, "chapter") || valueOf(entries, "chapter ar");
              const chapter = named(one.entries), before = n > 0 ? named(file.sections[n - 1]!.entries) : null;
              const id = lessonId(of("file")), day = of("date"), taught = listOf(of("rules"));
              return { key: String(n), name: title, problems: at(problems, one.head), body: <div class="planned">
                {chapter !== before && <p class="chapter"><bdi>{chapter || t("own_order")}</bdi></p>}
                <h3><bdi>{title}</bdi></h3>
                <p class="faint">{taught.length > 0 ? taught.map(nameOf).join(lang === "ar" ? "، " : ", ") : t("practice_lesson")}
                  {of("passage") && <> · {t("reads")} <bdi>{lang === "ar" ? of("passage").replace(/\bjuz\b/g, "الجزء").replace(/\bpage\b/g, "الصفحة") : of("passage")}</bdi></>}</p>
                <div class="planned-row">
                  <Field type="date" label={`${t("evening")}`} value={day} set={set(n, "date")} problems={own("date")} plain />
                  {/^\d{4}-\d\d-\d\d$/.test(day) && n + 1 < file.sections.length &&
                    <button type="button" class="quiet" onClick={() => weekly(n, day)}>{t("weekly")}</button>}
                  {id && there?.has(id) !== false
                    ? <a href={`/lessons/${id}`} onClick={(event) => { event.preventDefault(); go(`/lessons/${id}`); }}>{t("open_lesson")}</a>
                    : taught.length > 0 && <button type="button" class="quiet" aria-label={`${t("write_lesson")}: ${title}`} onClick={() => act(write(n))}>{t("write_lesson")}</button>}
                </div>
                <Needs plan={plan.waits ? null : plan.plan} lesson={n + 1} nameOf={nameOf} />
                <details><summary>{t("change")}</summary>
                  <div class="pair">
                    <Field label={t("title_en")} lang="en" value={of("title")} set={set(n, "title")} problems={own("title")} />
                    <Field label={t("title_arabic")} lang="ar" value={of("title ar")} set={set(n, "title ar")} problems={own("title ar")} />
                    <Field label={t("chapter_en")} lang="en" value={of("chapter")} set={set(n, "chapter")} problems={own("chapter")} />
                    <Field label={t("chapter_arabic")} lang="ar" value={of("chapter ar")} set={set(n, "chapter ar")} problems={own("chapter ar")} />
                    <Field label={t("examples_from")} value={of("examples")} set={set(n, "examples")} problems={own("examples")} />
                    <Field label={t("reads")} value={of("passage")} set={set(n, "passage")} problems={own("passage")} />
                  </div>
                  <RuleList label={t("teaches")} value={of("rules")} set={set(n, "rules")} rules={rules} problems={own("rules")} />
                </details>
              </div> };
            })} />
          <button type="button" onClick={() => edit((all) => `${all.replace(/\n*$/, "")}\n\n[lesson]\ntitle: ${t("new_lesson")}\npassage: juz 30\n`)}>{t("add_lesson")}</button>
          <section class="leaf slim">
            <div class="pair">
              <Field label={t("title_en")} lang="en" value={head("title")} set={set(null, "title")} problems={at(problems, lineOf(file.head, "title"))} />
              <Field label={t("title_arabic")} lang="ar" value={head("title ar")} set={set(null, "title ar")} problems={at(problems, lineOf(file.head, "title ar"))} />
            </div>
            <Assumed file={file} set={set(null, "assumed")} problems={at(problems, lineOf(file.head, "assumed"))} />
            {source && <p class="note"><span lang={source === head("source ar") ? "ar" : "en"} dir="auto">{source}</span></p>}
          </section>
        </section>
        <Missing plan={plan.plan} trouble={plan.trouble} waits={plan.waits} nameOf={nameOf} />
      </div>
    </Frame>
  </div>;
}

function Assumed(props: { file: LessonFile; set: (value: string) => void; problems: ReturnType<typeof at> }) {
  const { t } = useDesk();
  const rules = useRules();
  return <RuleList label={t("knows")} value={valueOf(props.file.head, "assumed")} set={props.set} rules={rules} problems={props.problems} />;
}

// What this lesson needs before its turn, rule by rule.
function Needs(props: { plan: Plan | null; lesson: number; nameOf: (id: string) => string }) {
  const { t, in_lang } = useDesk();
  const needs = props.plan?.needs.filter((one) => one.lesson === props.lesson) ?? [];
  const rules = [...new Set(needs.map((one) => one.rule))];
  if (rules.length === 0) return null;
  return <details class="needs" open={rules.length <= 3}>
    <summary>{t("needs_before")} ({rules.length})</summary>
    <ul class="troubles">{rules.map((rule) => {
      const of = needs.filter((one) => one.rule === rule), in_lesson = of[0]!.taught_in;
      return <li key={rule} class="trouble">{props.nameOf(rule)} · {in_lesson === null ? t("never_taught_one") : `${t("taught_in")} ${in_lesson}`}{" "}
        <span class="faint">{of.slice(0, 3).map((one, n) => <>{n > 0 && "; "}<bdi>{one.passage}</bdi> {in_lang(one, "shows")}</>)}{of.length > 3 && " …"}</span></li>;
    })}</ul>
  </details>;
}
