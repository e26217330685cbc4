// A text kept on the desk while it is edited: saved by itself, every step undone, never lost. What
// is not on the desk yet lies in the browser as well, and is found again after a crash.
import { useCallback, useEffect, useMemo, useRef, useState } from "preact/hooks";
import { get, Refusal, send } from "../api";

export interface Problem { line: number | null; advice: boolean; message: string; message_ar: string }
export interface Kept { id: string; title: string; text: string; revision: number; problems: Problem[] }
// gone: deleted elsewhere, while what was written here stands; refused: not to be kept as it stands.
export type SaveState = "saved" | "saving" | "waiting" | "conflict" | "offline" | "gone" | "refused";
export interface Editor {
  text: string | null; kept: Kept | null; state: SaveState; trouble: string; problems: Problem[];
  load: () => void; // once more, when it could not be read
  edit: (change: (text: string) => string, what?: string) => void;
  undo: () => void; redo: () => void; canUndo: boolean; canRedo: boolean;
  keepMine: () => void; takeTheirs: () => void; save: () => Promise<void>;
  dropSpare: () => void; // what was written here is kept elsewhere now
}

const pause_ms = 500, again_ms = 4000;
const status = (error: Error) => error instanceof Refusal ? error.status : 0;
interface Spare { text: string; revision: number }
function spareOf(path: string): Spare | null {
  try { return JSON.parse(localStorage.getItem(`unsaved ${path}`) ?? "null") as Spare | null; } catch { return null; }
}
function setSpare(path: string, spare: Spare | null) {
  try {
    if (spare) localStorage.setItem(`unsaved ${path}`, JSON.stringify(spare));
    else localStorage.removeItem(`unsaved ${path}`);
  } catch { /* a browser that keeps nothing: the desk still does */ }
}

// path: "lessons/ID" or "course".
export function useEditor(path: string): Editor {
  const [text, setText] = useState<string | null>(null);
  const [kept, setKept] = useState<Kept | null>(null);
  const [state, setState] = useState<SaveState>("saved");
  const [trouble, setTrouble] = useState("");
  const [steps, setSteps] = useState({ undo: 0, redo: 0 });
  const now = useRef({ text: null as string | null, kept: null as Kept | null, saving: null as Promise<void> | null,
    timer: 0, past: [] as string[], future: [] as string[], what: "", alive: true, conflict: false, gone: false });
  const count = () => setSteps({ undo: now.current.past.length, redo: now.current.future.length });
  const fail = (error: Error) => setTrouble(error.message);

  const arrive = (found: Kept) => { now.current.kept = found; if (now.current.alive) setKept(found); };
  const show = (next: string) => { now.current.text = next; if (now.current.alive) setText(next); };

  const leave = () => { now.current.gone = true; if (now.current.alive) setState("gone"); };

  const save = useCallback(async (): Promise<void> => {
    const here = now.current;
    clearTimeout(here.timer);
    if (here.saving) await here.saving;
    if (here.text === null || !here.kept || here.conflict || here.gone || here.text === here.kept.text) return;
    const sent = here.text;
    const tell = (next: SaveState) => { if (here.alive) setState(next); };
    tell("saving");
    here.saving = send<Kept>("PUT", path, { text: sent, revision: here.kept.revision }).then((found) => {
      arrive(found);
      if (here.text === sent) setSpare(path, null);
      else setSpare(path, { text: here.text!, revision: found.revision });
      tell(here.text === sent ? "saved" : "waiting");
      if (here.alive) setTrouble("");
    }, (error: Error) => {
      const why = status(error);
      if (why === 409) { here.conflict = true; tell("conflict"); return; }
      if (why === 404) { leave(); return; }
      // Trying again helps where the desk is away or has too much to do, and nowhere else.
      const later = !why || why === 429 || why >= 500;
      tell(later ? "offline" : "refused");
      if (here.alive) fail(error);
      if (later) here.timer = window.setTimeout(() => void save(), again_ms);
    }).finally(() => { here.saving = null; });
    await here.saving;
  }, [path]);

  const put = (next: string) => {
    const here = now.current;
    show(next);
    if (here.kept || here.gone) setSpare(path, { text: next, revision: here.kept?.revision ?? 0 });
    if (!here.kept || here.conflict || here.gone) return;
    setState(next === here.kept.text ? "saved" : "waiting");
    clearTimeout(here.timer);
    here.timer = window.setTimeout(() => void save(), pause_ms);
  };
  const edit = useCallback((change: (text: string) => string, what = "") => {
    const here = now.current;
    if (here.text === null) return;
    const next = change(here.text);
    if (next === here.text) return;
    // Keystrokes in one field are one step.
    if (!what || what !== here.what) here.past.push(here.text);
    here.what = what;
    here.future = [];
    put(next);
    count();
  }, [path]);
  const step = (from: "past" | "future", to: "past" | "future") => {
    const here = now.current, next = here[from].pop();
    if (next === undefined || here.text === null) return;
    here[to].push(here.text);
    here.what = "";
    put(next);
    count();
  };

  const load = useCallback(() => {
    const here = now.current;
    setTrouble("");
    get<Kept>(path).then((found) => {
      if (!here.alive) return;
      arrive(found);
      const spare = spareOf(path);
      if (!spare || spare.text === found.text) { setSpare(path, null); show(found.text); return; }
      here.past.push(found.text);
      count();
      if (spare.revision !== found.revision) { here.conflict = true; show(spare.text); setState("conflict"); }
      else put(spare.text);
    }, (error: Error) => {
      if (!here.alive) return;
      fail(error);
      if (status(error) !== 404) return;
      // Written here and not on the desk when it was deleted: still there to be kept.
      const spare = spareOf(path);
      if (spare) show(spare.text);
      leave();
    });
  }, [path]);

  useEffect(() => {
    const here = now.current;
    Object.assign(here, { alive: true, text: null, kept: null, past: [], future: [], what: "", conflict: false, gone: false });
    setText(null);
    setKept(null);
    setState("saved");
    count();
    load();
    const leaving = () => void save();
    window.addEventListener("pagehide", leaving);
    return () => {
      window.removeEventListener("pagehide", leaving);
      void save();
      here.alive = false;
    };
  }, [path]);

  const missed = (error: Error) => { if (status(error) === 404) leave(); else fail(error); };
  const keepMine = () => void get<Kept>(path).then((found) => {
    arrive(found);
    now.current.conflict = false;
    setState("waiting");
    return save();
  }, missed);
  const takeTheirs = () => void get<Kept>(path).then((found) => {
    const here = now.current;
    if (here.text !== null) here.past.push(here.text);
    here.conflict = false;
    arrive(found);
    show(found.text);
    setSpare(path, null);
    setState("saved");
    count();
  }, missed);

  // What the server said of an earlier text holds as long as no line has come or gone.
  const problems = useMemo(() => !kept || text === null ? [] :
    kept.text === text || kept.text.split("\n").length === text.split("\n").length ? kept.problems : [], [kept, text]);
  return {
    text, kept, state, trouble, problems, load, edit, save, keepMine, takeTheirs, dropSpare: () => setSpare(path, null),
    undo: () => step("past", "future"), redo: () => step("future", "past"), canUndo: steps.undo > 0, canRedo: steps.redo > 0,
  };
}
