// Around a text that is edited: saved or not, undo, as a page or as text.
import type { ComponentChildren } from "preact";
import { useEffect, useRef, useState } from "preact/hooks";
import { useDesk } from "../desk";
import type { Editor } from "./editor";
import { Troubles } from "./parts";

// How a file says it is for those who see the file: on the page the field is there to be filled.
const onPage = (message: string) => message.includes("[") ? message.split(/[;؛]/)[0]! : message;

// anew: keeps what stands here under another address, when its own is gone.
export function Frame(props: { editor: Editor; file: string; claimed: Set<number>; anew?: () => Promise<void>; children: ComponentChildren }) {
  const { t, in_lang } = useDesk();
  const { editor } = props;
  const [asText, setAsText] = useState(false);
  const area = useRef<HTMLTextAreaElement>(null);
  useEffect(() => {
    const keys = (event: KeyboardEvent) => {
      if (!(event.ctrlKey || event.metaKey) || event.altKey) return;
      const key = event.key.toLowerCase();
      if (key === "z") { event.preventDefault(); if (event.shiftKey) editor.redo(); else editor.undo(); }
      else if (key === "y") { event.preventDefault(); editor.redo(); }
      else if (key === "s") { event.preventDefault(); void editor.save(); }
    };
    window.addEventListener("keydown", keys);
    return () => window.removeEventListener("keydown", keys);
  });
  const toLine = (line: number) => {
    const text = editor.text!.split("\n"), start = text.slice(0, line - 1).join("\n").length + (line > 1 ? 1 : 0);
    setAsText(true);
    requestAnimationFrame(() => {
      const box = area.current;
      if (!box) return;
      box.focus();
      box.setSelectionRange(start, start + (text[line - 1]?.length ?? 0));
      box.scrollTop = box.scrollHeight * (line - 4) / Math.max(1, text.length);
    });
  };
  // As a page, only what no field shows is told here.
  const told = asText ? editor.problems : editor.problems.filter((one) => one.line === null || !props.claimed.has(one.line - 1))
    .map((one) => one.line === null ? { ...one, message: onPage(one.message), message_ar: onPage(one.message_ar) } : one);
  const states = { saved: "saved", saving: "saving", waiting: "not_saved", offline: "not_saved", conflict: "not_saved", gone: "not_saved", refused: "not_saved" } as const;
  return <>
    <div class="bar edit-bar">
      <div class="choice" role="group" aria-label={t("shown_as")}>
        <button type="button" aria-pressed={!asText} onClick={() => setAsText(false)}>{t("as_page")}</button>
        <button type="button" aria-pressed={asText} onClick={() => setAsText(true)}>{t("as_text")}</button>
      </div>
      <button type="button" class="quiet" disabled={!editor.canUndo} onClick={editor.undo}>{t("undo")}</button>
      <button type="button" class="quiet" disabled={!editor.canRedo} onClick={editor.redo}>{t("redo")}</button>
      <span class="faint save-state" role="status" data-state={editor.state}>{t(states[editor.state])}</span>
    </div>
    {editor.state === "offline" && <p class="trouble" role="alert">{t("offline")} <span>{editor.trouble}</span></p>}
    {editor.state === "conflict" && <div class="trouble" role="alert">{t("conflict")}{" "}
      <button type="button" class="quiet" onClick={editor.keepMine}>{t("keep_mine")}</button>{" "}
      <button type="button" class="quiet" onClick={editor.takeTheirs}>{t("take_theirs")}</button></div>}
    {editor.state === "refused" && <p class="trouble" role="alert">{t("not_to_keep")} <span>{editor.trouble}</span></p>}
    {editor.state === "gone" && <Gone anew={props.anew} />}
    {!asText && told.length > 0 && <Troubles of={told} />}
    {asText
      ? <section class="as-text">
        <label>{props.file}
          <textarea ref={area} class="file-text" dir="auto" spellcheck={false} rows={24} value={editor.text ?? ""}
            onInput={(event) => { const text = event.currentTarget.value; editor.edit(() => text, "text"); }} /></label>
        {editor.problems.length === 0 && editor.state === "saved" && <p class="faint">{t("holds")}</p>}
        <ul class="troubles">{editor.problems.map((one, n) => <li key={n} class={one.advice ? "advice" : "trouble"}>
          {one.line !== null && <button type="button" class="quiet" onClick={() => toLine(one.line!)}>{t("problem_line")} {one.line}</button>}{" "}
          {one.advice && <span class="faint">{t("advice")}: </span>}<span>{in_lang(one, "message")}</span></li>)}</ul>
      </section>
      : props.children}
  </>;
}

// Deleted elsewhere: nothing is saved any more, and nothing written here is lost.
function Gone(props: { anew?: (() => Promise<void>) | undefined }) {
  const { t } = useDesk();
  const [trouble, setTrouble] = useState("");
  const [busy, setBusy] = useState(false);
  const keep = () => {
    setTrouble("");
    setBusy(true);
    props.anew!().catch((error: Error) => setTrouble(error.message)).finally(() => setBusy(false));
  };
  return <div class="trouble" role="alert">{t("deleted_elsewhere")}{" "}
    {props.anew && <button type="button" disabled={busy} onClick={keep}>{t("save_anew")}</button>}
    {trouble && <p>{trouble}</p>}</div>;
}
