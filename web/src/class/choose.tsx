// Which class: one is enough for most teachers, and then nothing is asked.
import type { ComponentChildren } from "preact";
import { useEffect, useState } from "preact/hooks";
import { get, type Session } from "../api";
import { go, remember, remembered, useWords } from "../desk";
import type { Class } from "./types";
import { classWords } from "./words";

export function useClasses() {
  const [classes, setClasses] = useState<Class[] | null>(null);
  const [trouble, setTrouble] = useState("");
  // An assistant has one class, and no list of them.
  const find = async () => {
    const session = await get<Session>("session");
    return session.class ? [await get<Class>(`classes/${session.class.id}`)] : (await get<{ classes: Class[] }>("classes")).classes;
  };
  const load = () => find().then(setClasses, (error: Error) => setTrouble(error.message));
  useEffect(() => void load(), []);
  return { classes, trouble, load };
}

// The class of the address, else the one opened last, else the first.
export function classNow(classes: Class[], id: string | undefined): Class | undefined {
  return classes.find((one) => one.id === (id ?? remembered("class"))) ?? (id ? undefined : classes[0]);
}

// Who is here as the teacher; an assistant sees less, and the desk itself refuses the rest.
export function useTeaching(): boolean {
  const [role, setRole] = useState<string | null>(null);
  useEffect(() => { get<Session>("session").then((session) => setRole(session.role), () => {}); }, []);
  return role === "teacher";
}

export function ClassPicker(props: { classes: Class[]; now: Class; to: string }) {
  const t = useWords(classWords);
  if (props.classes.length < 2) return null;
  return <label class="class-picker">{t("which_class")}<select value={props.now.id} onChange={(event) => {
    remember("class", event.currentTarget.value);
    go(`/${props.to}/${event.currentTarget.value}`);
  }}>{props.classes.map((one) => <option key={one.id} value={one.id}>{one.name}</option>)}</select></label>;
}

export function Go(props: { to: string; children: ComponentChildren; current?: boolean }) {
  return <a href={props.to} aria-current={props.current ? "page" : undefined} onClick={(event) => {
    event.preventDefault();
    go(props.to);
  }}>{props.children}</a>;
}

// One at a time, and what went wrong in one place.
export function useAct() {
  const [trouble, setTrouble] = useState("");
  const [busy, setBusy] = useState(false);
  const act = async (doing: () => Promise<unknown>) => {
    setTrouble("");
    setBusy(true);
    try { await doing(); } catch (error) { setTrouble((error as Error).message); }
    setBusy(false);
  };
  return { act, trouble, busy };
}
export function Trouble({ of }: { of: string }) {
  return of ? <p class="trouble" role="alert" dir="auto">{of}</p> : null;
}
