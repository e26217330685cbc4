// What the teacher says to the learner: written or spoken, on a place or on the whole.
import { useEffect, useRef, useState } from "preact/hooks";
import { address, send } from "../api";
import { useWords } from "../desk";
import { Trouble, useAct } from "../class/choose";
import { classWords } from "../class/words";
import { Recorder } from "../takes/record";
import type { Note, Whole } from "./types";

export function Notes(props: {
  of: Whole; at: string | null; word: string; mode: "" | "text" | "voice"; open: (mode: "text" | "voice") => void; close: () => void; changed: (notes: Note[]) => void;
}) {
  const t = useWords(classWords);
  const { of, mode } = props;
  const { act, trouble, busy } = useAct();
  const [text, setText] = useState("");
  const [whole, setWhole] = useState(false);
  const field = useRef<HTMLTextAreaElement>(null), voice = useRef<HTMLDivElement>(null);
  useEffect(() => {
    if (mode === "text") field.current?.focus();
    if (mode === "voice") voice.current?.querySelector("button")?.focus();
  }, [mode]);
  const at = whole ? null : props.at;
  const keep = () => {
    if (!text.trim()) { props.close(); return; }
    void act(async () => {
      const note = await send<Note>("POST", `submissions/${of.id}/notes`, { text: text.trim(), at });
      props.changed([...of.notes, note]);
      setText("");
      props.close();
    });
  };
  const spoken = (sound: Blob) => void act(async () => {
    const note = await send<Note>("POST", `submissions/${of.id}/voice-notes`, sound, { at });
    props.changed([...of.notes, note]);
    props.close();
  });
  return <section aria-labelledby="notes"><h2 id="notes">{t("notes")}</h2>
    <Trouble of={trouble} />
    <ol class="notes">{of.notes.map((note) => <li key={note.id}>
      <bdi class="faint">{note.at ?? t("on_whole")}</bdi> <span dir="auto">{note.text}</span>
      {note.sound && <audio controls preload="metadata" aria-label={t("voice_note")} src={address(`submissions/${of.id}/notes/${note.id}/audio`)} />}
      <button type="button" class="quiet" aria-label={`${t("remove_note")} ${note.text}`} disabled={busy}
        onClick={() => void act(async () => { await send("DELETE", `submissions/${of.id}/notes/${note.id}`); props.changed(of.notes.filter((one) => one.id !== note.id)); })}>×</button>
    </li>)}</ol>
    {mode && <div class="leaf noting" onKeyDown={(event) => { if (event.key === "Escape") { event.stopPropagation(); props.close(); } }}>
      {props.at && <label class="family"><input type="checkbox" checked={whole} onChange={() => setWhole(!whole)} />{t("note_all")}</label>}
      {mode === "text"
        ? <label>{at ? <>{t("note_here")} <span lang="ar" dir="rtl" class="noted-word">{props.word}</span></> : t("note_all")}
          <textarea ref={field} rows={2} dir="auto" maxLength={2000} value={text} onInput={(event) => setText(event.currentTarget.value)}
            onKeyDown={(event) => { if (event.key === "Enter" && !event.shiftKey && !event.isComposing) { event.preventDefault(); keep(); } }} /></label>
        : <div ref={voice}><Recorder plain disabled={busy} done={spoken} /></div>}
      <p class="row">{mode === "text" && <button type="button" disabled={busy || !text.trim()} onClick={keep}>{t("keep")} <kbd aria-hidden="true">Enter</kbd></button>}
        <button type="button" class="quiet" onClick={props.close}>{t("cancel")}</button></p>
    </div>}
    {!mode && <p class="row"><button type="button" class="quiet" onClick={() => { setWhole(true); props.open("text"); }}>{t("note_all")}</button></p>}
  </section>;
}
