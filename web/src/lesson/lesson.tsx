// One lesson, built on the page: each field is a line of its file.
import { useEffect, useMemo, useState } from "preact/hooks";
import { get, lengthChoices, send, type Query } from "../api";
import { go, useDesk } from "../desk";
import type { Take } from "../takes/types";
import { VoiceChoice } from "../takes/voice";
import type { Key } from "../words";
import { useEditor, type Kept } from "./editor";
import {
  addRow, addSection, dropLine, dropSection, fieldsOf, lineOf, listOf, moveLine, moveSection, proseOf, questionOf, questionRow,
  readFile, setLine, setProse, setValue, takeOf, valueOf, type Question, type Row,
} from "./file";
import { Frame } from "./frame";
import { Make } from "./make";
import { Pages } from "./pages";
import { at, Choice, Field, Marked, Ordered, RuleList, Troubles, useRules } from "./parts";
import { PassagePart } from "./passage";

const kinds = ["mark", "name", "count", "without", "both", "find", "order"];
// "arid 2, no-basmala" as the API's parameters of the same names.
const howOf = (reading: string): Query => Object.fromEntries(listOf(reading).map((one) => {
  const [name = "", value] = one.split(/\s+/);
  return [name.replaceAll("-", "_"), value ?? 1];
}));

export function OneLesson({ id }: { id: string }) {
  const { t, lang, counted } = useDesk();
  const editor = useEditor(`lessons/${id}`);
  const { text, problems, edit } = editor;
  const rules = useRules();
  const [takes, setTakes] = useState<Take[]>([]);
  useEffect(() => { get<{ takes: Take[] }>("takes").then((found) => setTakes(found.takes), () => {}); }, []);
  const file = useMemo(() => readFile(text ?? ""), [text]);
  const back = <p><a href="/lessons" onClick={(event) => { event.preventDefault(); go("/lessons"); }}>{t("all_lessons")}</a></p>;
  if (text === null) return <div class="lesson">{back}
    {editor.state === "gone" ? <p class="trouble">{t("lesson_gone")}</p>
      : editor.trouble ? <p class="trouble" role="alert">{editor.trouble} <button type="button" class="quiet" onClick={editor.load}>{t("try_again")}</button></p>
      : <p role="status">{t("waiting")}</p>}</div>;

  const head = (key: string) => valueOf(file.head, key), own = (key: string) => at(problems, lineOf(file.head, key));
  const set = (key: string) => (value: string) => edit((all) => setValue(all, null, key, value), `head ${key}`);
  const taughtText = head("rules"), taught = listOf(taughtText), reading = head("reading"), how = howOf(reading);
  const title = (lang === "ar" && head("title ar")) || head("title") || head("title ar");
  const part = (name: string) => file.sections.findIndex((one) => one.name === name);
  const rowsOf = (name: string) => file.sections.filter((one) => one.name === name).flatMap((one) => one.rows);
  const examples = rowsOf("examples"), questions = rowsOf("questions"), used = rowsOf("takes");
  const passages = file.sections.map((section, n) => ({ section, n })).filter(({ section }) => section.name === "passage");
  const firstRange = passages[0] ? valueOf(passages[0].section.entries, "range") : "";
  const mover = (rows: Row[]) => (from: number, to: number) => edit((all) => moveLine(all, rows[from]!.line, rows[to]!.line));
  const dropper = (rows: Row[]) => (n: number) => edit((all) => dropLine(all, rows[n]!.line));
  const setReading = (name: string, value: string) => set("reading")(
    [...listOf(reading).filter((one) => one.split(/\s+/)[0] !== name), ...(value ? [`${name} ${value}`] : [])].join(", "));
  const anew = async () => {
    const { id: made } = await send<Kept>("POST", "lessons", { text });
    editor.dropSpare();
    go(`/lessons/${made}`, true);
  };
  const english = file.sections[part("explain")], arabic = file.sections[part("explain ar")];

  // Lines whose troubles stand beside a field.
  const claimed = new Set<number>();
  for (const entry of file.head) claimed.add(entry.line);
  for (const section of file.sections) {
    if (["examples", "questions", "takes"].includes(section.name)) section.rows.forEach((row) => claimed.add(row.line));
    if (["examples", "questions", "takes", "passage", "explain", "explain ar"].includes(section.name)) claimed.add(section.head);
    if (section.name === "passage") for (const key of ["range", "stops", "fade"]) claimed.add(lineOf(section.entries, key));
    if (section.name.startsWith("explain")) for (let n = section.head; n < section.end; n++) claimed.add(n);
  }
  const about = (name: string) => at(problems, ...file.sections.filter((one) => one.name === name).map((one) => one.head));
  const prose = (name: string) => problems.filter((one) => {
    const section = file.sections[part(name)];
    return section && one.line !== null && one.line - 1 >= section.head && one.line - 1 < section.end;
  });

  return <div class="lesson">
    {back}
    <h1><bdi>{title || t("untitled")}</bdi></h1>
    <Frame editor={editor} file={t("file_text")} claimed={claimed} anew={anew}>
      <section class="leaf head-part">
        <div class="pair">
          <Field label={t("title_en")} lang="en" value={head("title")} set={set("title")} problems={own("title")} />
          <Field label={t("title_arabic")} lang="ar" value={head("title ar")} set={set("title ar")} problems={own("title ar")} />
        </div>
        <RuleList label={t("teaches")} value={taughtText} set={set("rules")} rules={rules} problems={own("rules")} />
        <RuleList label={t("knows")} value={head("known")} set={set("known")} rules={rules} problems={own("known")} />
        <div class="bar">
          <Choice label={t("level_of")} value={head("level") || "beginner"} set={set("level")}
            choices={[["beginner", t("beginner")], ["intermediate", t("intermediate")], ["advanced", t("advanced")]]} />
          <Choice label={t("language_of")} value={head("language") || "both"} set={set("language")}
            choices={[["both", t("both")], ["en", t("english")], ["ar", t("arabic")]]} />
          {lengthChoices(rules).map(({ name, counts }) => <Choice key={name} label={t(name)} value={String(how[name] ?? "")} set={(value) => setReading(name, value)}
            choices={[["", t("as_usual")], ...counts.map((count): [string, string] => [count, counted(Number(count), "counts")])]} />)}
        </div>
        <Troubles of={[...own("level"), ...own("language"), ...own("reading")]} />
        {file.head.filter((one) => !["title", "title ar", "rules", "known", "level", "language", "reading", "voice"].includes(one.key)).map((one) =>
          <Troubles key={one.line} of={at(problems, one.line)} />)}
      </section>

      <section class="leaf" aria-labelledby="explanation">
        <h2 id="explanation">{t("explanation")}</h2>
        <div class="pair">
          <Field label={t("explain_en")} lang="en" rows={6} value={proseOf(english, file.lines)} problems={prose("explain")}
            set={(value) => edit((all) => setProse(all, "explain", value), "explain")} />
          <Field label={t("explain_arabic")} lang="ar" rows={6} value={proseOf(arabic, file.lines)} problems={prose("explain ar")}
            set={(value) => edit((all) => setProse(all, "explain ar", value), "explain ar")} />
        </div>
      </section>

      <section class="leaf" aria-labelledby="examples">
        <h2 id="examples">{t("examples")}</h2>
        <Troubles of={about("examples")} />
        <Ordered class="examples" move={mover(examples)} drop={dropper(examples)} items={examples.map((row, n) => {
          const [range = "", ...notes] = fieldsOf(row.text), note = notes.join(" | ");
          const put = (next: string, more: string, what: string) => edit((all) => setLine(all, row.line, more || !next ? `${next} | ${more}` : next), what);
          return { key: String(n), name: note || range, problems: at(problems, row.line), body: <>
            <Marked passage={range} how={{ ...how, no_basmala: 1 }} taught={taught} rules={rules} />
            <div class="pair narrow-first">
              <Field plain label={t("example_range")} value={range} set={(value) => put(value, note, `example ${row.line}`)} />
              <Field plain label={t("note_of")} value={note} set={(value) => put(range, value, `note ${row.line}`)} />
            </div></> };
        })} />
        <AddRange label={t("add_example")} add={(range) => edit((all) => addRow(all, "examples", range))} />
        {taught[0] && <p><a href={`/find/examples?rules=${taught[0]}`} onClick={(event) => { event.preventDefault(); go(`/find/examples?rules=${taught[0]}`); }}>{t("find_more")}</a></p>}
      </section>

      {passages.map(({ section, n }, k) => <section key={k} class="leaf" aria-labelledby={`passage${k}`}>
        <div class="section-head"><h2 id={`passage${k}`}>{t("passage_one")}{passages.length > 1 ? ` ${k + 1}` : ""}</h2>
          <span class="moves">
            {k > 0 && <button type="button" class="quiet" aria-label={`${t("move_up")}: ${t("passage_one")} ${k + 1}`} onClick={() => edit((all) => moveSection(all, n, passages[k - 1]!.n))}>↑</button>}
            {k + 1 < passages.length && <button type="button" class="quiet" aria-label={`${t("move_down")}: ${t("passage_one")} ${k + 1}`} onClick={() => edit((all) => moveSection(all, n, passages[k + 1]!.n))}>↓</button>}
            <button type="button" class="quiet" aria-label={`${t("remove")}: ${t("passage_one")} ${k + 1}`} onClick={() => edit((all) => dropSection(all, n))}>×</button></span></div>
        <Troubles of={at(problems, section.head)} />
        <PassagePart section={section} n={n} edit={edit} problems={problems} rules={rules} taught={taught} taughtText={taughtText}
          how={how} labels={head("language") || "both"} title={title} />
      </section>)}
      <section class="leaf slim"><AddRange label={t("add_passage")} add={(range) => edit((all) => addSection(all, "passage", [`range: ${range}`, "stops: verses", "fade: evenly"]))} /></section>

      <section class="leaf" aria-labelledby="questions">
        <h2 id="questions">{t("questions")}</h2>
        <Troubles of={about("questions")} />
        <Ordered class="questions" move={mover(questions)} drop={dropper(questions)} items={questions.map((row, n) => {
          const q = questionOf(row.text), put = (more: Partial<Question>, what?: string) => edit((all) => setLine(all, row.line, questionRow({ ...q, ...more })), what);
          return { key: String(n), name: kinds.includes(q.kind) ? t(`ask_${q.kind}` as Key) : q.kind, problems: at(problems, row.line), body: <div class="bar question">
            <Choice label={t("kind_of")} value={q.kind} set={(kind) => put({ kind })} choices={kinds.map((one) => [one, t(`ask_${one}` as Key)])} />
            <Field label={t("range_of")} value={q.range} set={(range) => put({ range }, `question ${row.line}`)} />
            <Field label={t("how_many")} type="number" min={1} max={100} value={q.count} set={(count) => put({ count }, `count ${row.line}`)} />
            <Field label={t("seed")} type="number" min={0} max={2147483647} value={q.seed} set={(seed) => put({ seed }, `seed ${row.line}`)} />
            <button type="button" class="quiet" onClick={() => put({ seed: String((Number(q.seed) || 0) + 1) })}>{t("other_questions")}</button>
          </div> };
        })} />
        <select class="adds" aria-label={t("add_question")} value="" onChange={(event) => {
          const kind = event.currentTarget.value;
          event.currentTarget.value = "";
          if (kind) edit((all) => addRow(all, "questions", questionRow({ kind, range: firstRange || fieldsOf(examples[0]?.text ?? "")[0] || "78", count: "1", seed: "1" })));
        }}><option value="">{t("add_question")}…</option>{kinds.map((one) => <option key={one} value={one}>{t(`ask_${one}` as Key)}</option>)}</select>
      </section>

      <section class="leaf" aria-labelledby="lesson-takes">
        <h2 id="lesson-takes">{t("lesson_takes")}</h2>
        <Troubles of={about("takes")} />
        <Ordered class="takes-used" move={mover(used)} drop={dropper(used)} items={used.map((row, n) => {
          const take = takeOf(row.text), known = takes.find((one) => take.file === `takes/${one.id}`);
          return { key: String(n), name: take.name, problems: at(problems, row.line), body: <div class="bar">
            <Field label={t("called")} value={take.name} set={(name) => edit((all) => setLine(all, row.line, `${name.replace(/[:|]/g, " ")}: ${take.file} | ${take.range}`), `take ${row.line}`)} />
            <Field label={t("range_of")} value={take.range} set={(range) => edit((all) => setLine(all, row.line, `${take.name}: ${take.file} | ${range}`), `heard ${row.line}`)} />
            <span class="faint">{known ? <a href={`/takes/${known.id}`} onClick={(event) => { event.preventDefault(); go(`/takes/${known.id}`); }}>{known.name || known.title}</a> : <bdi>{take.file}</bdi>}</span>
          </div> };
        })} />
        {takes.length > 0
          ? <select class="adds" aria-label={t("add_take")} value="" onChange={(event) => {
            const take = takes.find((one) => one.id === event.currentTarget.value);
            event.currentTarget.value = "";
            if (take) edit((all) => addRow(all, "takes", `${(take.name || take.title).replace(/[:|]/g, " ")}: takes/${take.id} | ${take.passage}`));
          }}><option value="">{t("add_take")}</option>{takes.map((one) => <option key={one.id} value={one.id}>{one.name || one.title}</option>)}</select>
          : <p class="faint">{t("no_takes_yet")}</p>}
        {(used.length > 0 || head("voice")) && <div class="bar">
          <VoiceChoice label={t("voice")} none={t("voice_each")} value={head("voice")} set={set("voice")} /></div>}
        <Troubles of={own("voice")} />
      </section>

      {editor.state !== "gone" && <>
        <Pages lesson={id} revision={editor.kept?.revision ?? 0} passages={passages.length} mistakes={problems.some((one) => !one.advice)} />
        <Make lesson={id} ready={editor.save} mistakes={problems.some((one) => !one.advice)} takes={used.length > 0} />
      </>}
    </Frame>
  </div>;
}

function AddRange(props: { label: string; add: (range: string) => void }) {
  const { t } = useDesk();
  const [typed, setTyped] = useState("");
  const [trouble, setTrouble] = useState("");
  const add = async () => {
    setTrouble("");
    try {
      props.add((await get<{ passage: string }>("passage", { q: typed })).passage);
      setTyped("");
    } catch (error) { setTrouble((error as Error).message); }
  };
  return <form class="bar adder" onSubmit={(event) => { event.preventDefault(); if (typed.trim()) void add(); }}>
    <label>{props.label}<input type="text" dir="auto" value={typed} placeholder={t("range_hint")} onInput={(event) => setTyped(event.currentTarget.value)} /></label>
    <button type="submit">{t("keep")}</button>
    {trouble && <p class="trouble" role="alert">{trouble}</p>}
  </form>;
}
