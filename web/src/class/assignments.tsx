// What is given out: a passage, what to attend to, how much of the notation is shown, until when.
import { useEffect, useState } from "preact/hooks";
import { get, once, send, type Resolved, type Rules } from "../api";
import { go, remembered, useAsked, useDesk, useWords } from "../desk";
import type { Kept } from "../lesson/editor";
import { readFile, valueOf } from "../lesson/file";
import { RuleOptions } from "../lesson/parts";
import type { Take } from "../takes/types";
import { Trouble, useAct } from "./choose";
import { dayText, type Class, type Given } from "./types";
import { classWords } from "./words";

const stages = ["stage_0", "stage_1", "stage_2", "stage_3"] as const;
// A day's evening, in the teacher's own time; and back.
const endOfDay = (day: string) => day ? new Date(`${day}T23:59:00`).getTime() : 0;
const dayOf = (ms: number) => {
  if (!ms) return "";
  const when = new Date(ms), two = (n: number) => String(n).padStart(2, "0");
  return `${when.getFullYear()}-${two(when.getMonth() + 1)}-${two(when.getDate())}`;
};

export function Assignments({ now, teaching, query }: { now: Class; teaching: boolean; query: URLSearchParams }) {
  const t = useWords(classWords);
  const { lang, in_lang } = useDesk();
  const [given, setGiven] = useState<Given[] | null>(null);
  const [rules, setRules] = useState<Rules | null>(null);
  const [changing, setChanging] = useState<Given | null>(null);
  const { act, trouble } = useAct();
  useEffect(() => { once<Rules>("rules").then(setRules, () => {}); }, []);
  const load = () => get<{ assignments: Given[] }>(`classes/${now.id}/assignments`).then((found) => setGiven(found.assignments));
  useEffect(() => void act(load), [now.id]);
  const nameOf = (id: string) => { const rule = rules?.rules.find((one) => one.rule === id); return rule ? in_lang(rule, "name") : id; };
  const living = given?.filter((one) => !one.withdrawn_ms) ?? [];
  return <section aria-label={t("assignments")}>
    {teaching && rules && <Form key={changing?.id ?? `new ${query.get("passage") ?? ""}`} now={now} rules={rules} of={changing} proposed={query}
      done={async () => { setChanging(null); if (query.size) go(`/class/${now.id}/assignments`, true); await load(); }} cancel={() => setChanging(null)} />}
    <Trouble of={trouble} />
    {given && living.length === 0 && <p class="faint">{t("no_assignment")}</p>}
    <ol class="given">{living.map((one) => <li key={one.id} class="leaf">
      <h2><bdi>{one.title || one.passage}</bdi></h2>
      <p class="faint"><bdi>{one.passage}</bdi> · {one.due_ms ? `${t("due")} ${dayText(lang, one.due_ms)}` : t("no_due")} · {t(stages[one.stage] ?? "stage_0")}
        {one.rules && <> · {one.rules.split(/\s+/).filter(Boolean).map(nameOf).join(lang === "ar" ? "، " : ", ")}</>}</p>
      {one.attend && <p dir="auto">{one.attend}</p>}
      <p class="moves">{one.handed_in !== undefined && <span>{one.handed_in} {t("handed_in")}</span>}
        {teaching && <><button type="button" class="quiet" aria-label={`${t("change")}: ${one.title || one.passage}`} onClick={() => { setChanging(one); scrollTo(0, 0); }}>{t("change")}</button>
          <button type="button" class="quiet" aria-label={`${t("withdraw_assignment")}: ${one.title || one.passage}`} onClick={() => {
            if (confirm(t("withdraw_work_sure"))) void act(async () => { await send("DELETE", `assignments/${one.id}`); await load(); });
          }}>{t("withdraw_assignment")}</button></>}</p>
    </li>)}</ol>
  </section>;
}

function Form(props: { now: Class; rules: Rules; of: Given | null; proposed: URLSearchParams; done: () => Promise<void>; cancel: () => void }) {
  const t = useWords(classWords);
  const { in_lang, lang } = useDesk();
  const { of } = props;
  const { act, trouble, busy } = useAct();
  const [title, setTitle] = useState(of?.title ?? "");
  const [passage, setPassage] = useState(of?.passage ?? props.proposed.get("passage") ?? remembered("passage") ?? "");
  const [attend, setAttend] = useState(of?.attend ?? "");
  const [stage, setStage] = useState(of?.stage ?? 0);
  const [due, setDue] = useState(dayOf(of?.due_ms ?? 0));
  const [chosen, setChosen] = useState<string[]>((of?.rules ?? props.proposed.get("rules") ?? "").split(/[\s,]+/).filter(Boolean));
  const [take, setTake] = useState(of?.take ?? "");
  const [lesson, setLesson] = useState(of?.lesson ?? "");
  const lessons = useAsked<{ lessons: { id: string; title: string }[] }>("lessons", (signal) => get("lessons", {}, signal)).value?.lessons ?? [];
  // What the lesson's file says of it, to be changed at will.
  const fromLesson = async (id: string) => {
    setLesson(id);
    if (!id) return;
    const file = readFile((await get<Kept>(`lessons/${id}`)).text), part = file.sections.find((one) => one.name === "passage");
    setTitle((lang === "ar" ? valueOf(file.head, "title ar") : "") || valueOf(file.head, "title") || valueOf(file.head, "title ar"));
    setChosen(valueOf(file.head, "rules").split(/[\s,]+/).filter((rule) => props.rules.rules.some((one) => one.rule === rule)));
    if (part && valueOf(part.entries, "range")) setPassage(valueOf(part.entries, "range"));
  };
  // Of the passage as the desk understands it, however it is written.
  const found = useAsked<Take[]>(passage.trim() || null, async (signal) => {
    const { passage: meets } = await get<Resolved>("passage", { q: passage.trim() }, signal);
    return (await get<{ takes: Take[] }>("takes", { meets }, signal)).takes.filter((one) => one.report || one.id === of?.take);
  });
  const fitting = found.value ?? [];
  useEffect(() => { if (found.fresh && found.value && !found.value.some((one) => one.id === take)) setTake(""); }, [found.value, found.fresh]);
  const over = due !== "" && due !== dayOf(of?.due_ms ?? 0) && endOfDay(due) < Date.now();
  const nameOf = (id: string) => { const rule = props.rules.rules.find((one) => one.rule === id); return rule ? in_lang(rule, "name") : id; };
  const keep = async () => {
    const { passage: resolved } = await get<Resolved>("passage", { q: passage });
    const what = { title: title.trim(), passage: resolved, attend: attend.trim(), stage, due_ms: endOfDay(due), rules: chosen.join(" "), take: take || null, lesson: lesson || null };
    if (of) await send("PATCH", `assignments/${of.id}`, { ...what, revision: of.revision });
    else await send("POST", `classes/${props.now.id}/assignments`, { ...what, how: {} });
    setTitle("");
    setAttend("");
    await props.done();
  };
  return <form class="leaf give-out" aria-label={t("give_out")} onSubmit={(event) => { event.preventDefault(); void act(keep); }}>
    {lessons.length > 0 && <label>{t("from_lesson")}<select value={lesson} onChange={(event) => void act(() => fromLesson(event.currentTarget.value))}>
      <option value="">{t("take_none")}</option>
      {lessons.map((one) => <option key={one.id} value={one.id}>{one.title || one.id}</option>)}</select></label>}
    <label>{t("title")}<input type="text" dir="auto" maxLength={120} value={title} placeholder={t("title_hint")} onInput={(event) => setTitle(event.currentTarget.value)} /></label>
    <label>{t("passage")}<input type="text" dir="auto" required value={passage} onInput={(event) => setPassage(event.currentTarget.value)} /></label>
    <label>{t("due")}<input type="date" value={due} onInput={(event) => setDue(event.currentTarget.value)} aria-describedby={over ? "due-over" : undefined} />
      {over && <span id="due-over" role="status" class="trouble">{t("due_over")}</span>}</label>
    <label>{t("stage")}<select value={stage} onChange={(event) => setStage(Number(event.currentTarget.value))}>
      {stages.map((name, n) => <option key={name} value={n}>{t(name)}</option>)}</select></label>
    <label class="wide">{t("attend")}<textarea rows={2} dir="auto" maxLength={500} value={attend} onInput={(event) => setAttend(event.currentTarget.value)} /></label>
    <div class="rules-of">
      <label>{t("rules_of")}<select value="" onChange={(event) => { const rule = event.currentTarget.value; if (rule && !chosen.includes(rule)) setChosen([...chosen, rule]); event.currentTarget.value = ""; }}>
        <option value="">{t(chosen.length ? "add_rule" : "rules_all")}</option><RuleOptions rules={props.rules} /></select></label>
      {chosen.length > 0 && <ul class="chips">{chosen.map((rule) => <li key={rule}>{nameOf(rule)} <button type="button" class="quiet"
        aria-label={`${t("remove")}: ${nameOf(rule)}`} onClick={() => setChosen(chosen.filter((one) => one !== rule))}>×</button></li>)}</ul>}
    </div>
    <label>{t("take_of")}<select value={take} onChange={(event) => setTake(event.currentTarget.value)}>
      <option value="">{t("take_none")}</option>
      {fitting.map((one) => <option key={one.id} value={one.id}>{one.name || one.title} · {new Date(one.made).toLocaleDateString(lang === "ar" ? "ar-u-nu-latn" : "en-GB")}</option>)}</select></label>
    <p class="row"><button type="submit" disabled={busy}>{t(of ? "keep" : "give_out")}</button>
      {of && <button type="button" class="quiet" onClick={props.cancel}>{t("cancel")}</button>}</p>
    <Trouble of={trouble} />
  </form>;
}
