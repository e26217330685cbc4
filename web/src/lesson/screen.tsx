// Lessons: the list of them; one of them open.
import { useEffect, useRef, useState } from "preact/hooks";
import { get, send } from "../api";
import { go, useDesk, type Place } from "../desk";
import type { Kept } from "./editor";
import { readFile, setValue, valueOf } from "./file";
import { useTold } from "./jobs";
import { OneLesson } from "./lesson";
import { RuleOptions, useRules } from "./parts";

interface Entry { id: string; title: string; changed: string; revision: number; problems: number }

export function LessonsScreen({ place }: { place: Place }) {
  const id = place.path[1];
  return id ? <OneLesson key={id} id={id} /> : <List />;
}

function List() {
  const { t, lang } = useDesk();
  const rules = useRules();
  const [lessons, setLessons] = useState<Entry[] | null>(null);
  const [rule, setRule] = useState("ikhfa");
  const [range, setRange] = useState("78-80");
  const [busy, setBusy] = useState(false);
  const [trouble, setTrouble] = useState("");
  const [naming, setNaming] = useState<{ id: string; title: string } | null>(null);
  const field = useRef<HTMLInputElement>(null);
  const load = () => get<{ lessons: Entry[] }>("lessons").then((found) => setLessons(found.lessons), (error: Error) => setTrouble(error.message));
  useEffect(() => void load(), []);
  useTold("lesson", () => void load());
  useEffect(() => field.current?.select(), [naming?.id]);
  const act = (doing: () => Promise<unknown>) => {
    setTrouble("");
    setBusy(true);
    doing().catch((error: Error) => setTrouble(error.message)).finally(() => setBusy(false));
  };
  const begin = async (text: string) => go(`/lessons/${(await send<Kept>("POST", "lessons", { text })).id}`);
  const draft = async () => begin((await send<{ text: string }>("POST", "lessons/draft", { rules: rule, in: range })).text);
  const duplicate = async (one: Entry) => {
    await send("POST", `lessons/${one.id}/duplicate`, { title: `${one.title || t("untitled")} (${t("copy_of")})` });
    await load();
  };
  const rename = async ({ id, title }: { id: string; title: string }) => {
    const found = await get<Kept>(`lessons/${id}`), { head } = readFile(found.text);
    const key = valueOf(head, "title") || !valueOf(head, "title ar") ? "title" : "title ar";
    await send("PUT", `lessons/${id}`, { text: setValue(found.text, null, key, title), revision: found.revision });
    setNaming(null);
    await load();
  };
  return <div class="lessons">
    <h1>{t("lessons")}</h1>
    <p class="lead">{t("lessons_lead")}</p>
    <form class="bar" aria-label={t("new_lesson")} onSubmit={(event) => { event.preventDefault(); act(draft); }}>
      <label>{t("rule")}<select value={rule} onChange={(event) => setRule(event.currentTarget.value)}>{rules && <RuleOptions rules={rules} />}</select></label>
      <label>{t("where")}<input type="text" dir="auto" value={range} onInput={(event) => setRange(event.currentTarget.value)} /></label>
      <button type="submit" disabled={busy || !rules}>{t("draft_it")}</button>
      <button type="button" class="quiet" disabled={busy} onClick={() => act(() => begin(`mistara lesson 1\n\ntitle: ${t("new_lesson")}\nrules: ${rule}\n`))}>{t("empty_lesson")}</button>
    </form>
    <p role="status">{busy ? t("waiting") : ""}</p>
    {trouble && <p class="trouble" role="alert">{trouble}</p>}
    {lessons?.length === 0 && <p class="faint">{t("no_lessons")}</p>}
    <ol class="take-list lesson-list">{lessons?.map((one) => {
      const title = one.title || t("untitled");
      return <li key={one.id}>
        {naming?.id === one.id
          ? <form class="renaming" onSubmit={(event) => { event.preventDefault(); act(() => rename(naming)); }}
              onKeyDown={(event) => { if (event.key === "Escape") setNaming(null); }}>
            <input ref={field} type="text" dir="auto" aria-label={t("rename")} value={naming.title} onInput={(event) => setNaming({ ...naming, title: event.currentTarget.value })} />
            <button type="submit">{t("keep")}</button>
            <button type="button" class="quiet" onClick={() => setNaming(null)}>{t("cancel")}</button></form>
          : <a href={`/lessons/${one.id}`} onClick={(event) => { event.preventDefault(); go(`/lessons/${one.id}`); }}><bdi>{title}</bdi></a>}
        <span class="faint"><bdi>{new Date(one.changed).toLocaleDateString(lang === "ar" ? "ar-u-nu-latn" : "en-GB")}</bdi>
          {one.problems > 0 && <> · {one.problems} {t("to_mend")}</>}</span>
        <span class="moves">
          <button type="button" class="quiet" aria-label={`${t("rename")}: ${title}`} onClick={() => setNaming({ id: one.id, title: one.title })}>{t("rename")}</button>
          <button type="button" class="quiet" aria-label={`${t("duplicate")}: ${title}`} disabled={busy} onClick={() => act(() => duplicate(one))}>{t("duplicate")}</button>
          <button type="button" class="quiet" aria-label={`${t("remove")}: ${title}`} onClick={() => {
            if (confirm(`${t("remove_sure")} ${title}`)) act(async () => { await send("DELETE", `lessons/${one.id}`); await load(); });
          }}>{t("remove")}</button></span>
      </li>;
    })}</ol>
  </div>;
}
