// What the teacher says to the learner: written or spoken, on a place or on the whole.
import { useLayoutEffect, useRef, useState } from "preact/hooks";
import { address, send } from "../api";
import { useWords } from "../desk";
import { Trouble, useAct } from "../class/choose";
import { classWords } from "../class/words";
import { Recorder } from "../takes/record";
import type { Note, Whole } from "./types";

export interface Noting { mode: "text" | "voice"; whole: boolean }
// What was typed and not kept yet, by place; under "" what is on the whole.
export type Drafts = Record<string, string>;
export type Draft = (at: string, text: string) => void;

// The box stands where the place stands. `at` null: there is no place, only the whole.
export function NoteBox(props: {
  of: Whole; at: string | null; word: string; mode: "text" | "voice"; drafts: Drafts; draft: Draft;
  close: () => void; kept: (note: Note) => void;
}) {
  const t = useWords(classWords);
  const { of, mode, drafts } = props;
  const { act, trouble, busy } = useAct();
  const [whole, setWhole] = useState(props.at === null);
  const field = useRef<HTMLTextAreaElement>(null), voice = useRef<HTMLDivElement>(null), left = useRef(false);
  // In the same frame: the next key may be there already.
  useLayoutEffect(() => {
    if (mode === "text") field.current?.focus();
    if (mode === "voice") voice.current?.querySelector("button")?.focus();
  }, [mode]);
  const at = whole ? null : props.at, text = drafts[at ?? ""] ?? "";
  // What was begun for the one goes along to the other.
  const aim = () => {
    props.draft(at ?? "", "");
    props.draft(whole ? props.at! : "", text);
    setWhole(!whole);
  };
  const keep = () => {
    if (!text.trim()) { props.close(); return; }
    void act(async () => {
      const note = await send<Note>("POST", `submissions/${of.id}/notes`, { text: text.trim(), at });
      props.draft(at ?? "", "");
      props.kept(note);
      props.close();
    });
  };
  const spoken = (sound: Blob) => {
    if (left.current) return;
    void act(async () => {
      props.kept(await send<Note>("POST", `submissions/${of.id}/voice-notes`, sound, { at }));
      props.close();
    });
  };
  const leave = () => { left.current = true; props.close(); };
  return <div class="leaf noting" onKeyDown={(event) => { if (event.key === "Escape") { event.stopPropagation(); leave(); } }}>
    <Trouble of={trouble} />
    {props.at && <label class="family"><input type="checkbox" checked={whole} onChange={aim} />{t("note_all")}</label>}
    {mode === "text"
      ? <label>{at ? <>{t("note_here")} <span lang="ar" dir="rtl" class="noted-word">{props.word}</span></> : t("note_all")}
        <textarea ref={field} rows={2} dir="auto" maxLength={2000} value={text} onInput={(event) => props.draft(at ?? "", event.currentTarget.value)}
          onKeyDown={(event) => { if (event.key === "Enter" && !event.shiftKey && !event.isComposing) { event.preventDefault(); keep(); } }} /></label>
      : <div ref={voice}><Recorder plain disabled={busy} done={spoken} /></div>}
    <p class="row">{mode === "text" && <button type="button" disabled={busy || !text.trim()} onClick={keep}>{t("keep")} <kbd aria-hidden="true" dir="ltr">Enter</kbd></button>}
      <button type="button" class="quiet" onClick={leave}>{t("cancel")}</button></p>
  </div>;
}

// All that will be sent, and what is on the whole.
export function Notes(props: {
  of: Whole; noting: Noting["mode"] | null; drafts: Drafts; draft: Draft; open: () => void; close: () => void;
  kept: (note: Note) => void; gone: (id: string) => void;
}) {
  const t = useWords(classWords);
  const { of } = props;
  const { act, trouble, busy } = useAct();
  return <section aria-labelledby="notes"><h2 id="notes">{t("notes")}</h2>
    <Trouble of={trouble} />
    <ol class="notes">{of.notes.map((note) => <li key={note.id}>
      {note.word ? <span class="noted-word" lang="ar" dir="rtl">{note.word}</span> : <bdi class="faint">{note.at ?? t("on_whole")}</bdi>}{" "}
      <span dir="auto">{note.text}</span>
      {note.sound && <audio controls preload="metadata" aria-label={t("voice_note")} src={address(`submissions/${of.id}/notes/${note.id}/audio`)} />}
      <button type="button" class="quiet" aria-label={`${t("remove_note")} ${note.text}`} disabled={busy}
        onClick={() => { if (!note.sent || confirm(t("remove_sent_sure"))) void act(async () => { await send("DELETE", `submissions/${of.id}/notes/${note.id}`); props.gone(note.id); }); }}>×</button>
    </li>)}</ol>
    {props.noting ? <NoteBox of={of} at={null} word="" mode={props.noting} drafts={props.drafts} draft={props.draft} close={props.close} kept={props.kept} />
      : <p class="row"><button type="button" class="quiet" onClick={props.open}>{t("note_all")}</button></p>}
  </section>;
}
