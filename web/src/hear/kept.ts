// What was noted: first in this browser, then with the desk, so that a tab closed too early or a desk
// that cannot be reached loses nothing.
import { useEffect, useRef, useState } from "preact/hooks";
import { get, Refusal, send } from "../api";
import { remember, remembered } from "../desk";
import { told as listen } from "../told";

export interface Hearing {
  id: string; date: string; at: string; what: string; note: string; who: string; rule: string | null; undone: boolean; gone?: boolean;
}
// Changes that the desk has not answered yet, oldest first. `made` marks one that is not there at all;
// its id is then this browser's own.
interface Change { made: boolean; hearing: Hearing }
const drawer = "hearings";
const again_ms = 4000;

function readDrawer(): Change[] {
  try { return JSON.parse(remembered(drawer) ?? "[]") as Change[]; } catch { return []; }
}

export function useHearings() {
  const [known, setKnown] = useState<Hearing[]>([]);
  const [waiting, setWaiting] = useState<Change[]>(readDrawer);
  const [trouble, setTrouble] = useState("");
  const drawn = useRef(waiting), sending = useRef(false), told = useRef<Hearing[]>([]), alive = useRef(true);
  const keep = (next: Change[]) => {
    drawn.current = next;
    remember(drawer, JSON.stringify(next));
    setWaiting(next);
  };
  const put = (hearing: Hearing) => setKnown((all) => hearing.gone ? all.filter((one) => one.id !== hearing.id)
    : all.some((one) => one.id === hearing.id) ? all.map((one) => one.id === hearing.id ? hearing : one) : [hearing, ...all]);

  const deliver = async () => {
    if (sending.current) return;
    sending.current = true;
    while (drawn.current.length) {
      const { made, hearing } = drawn.current[0]!;
      const { at, what, note, who, rule } = hearing;
      try {
        const kept = made ? await send<Hearing>("POST", "hearings", { at, what, note, who, rule })
          : await send<Hearing>("PATCH", `hearings/${hearing.id}`, { note, what, undone: hearing.undone });
        put(kept);
        // What was changed while it was on its way goes after it, under the id it has now.
        const now = drawn.current[0]!;
        const later = drawn.current.slice(1).map((one) => one.hearing.id === hearing.id ? { ...one, hearing: { ...one.hearing, id: kept.id, date: kept.date } } : one);
        keep(now.hearing === hearing ? later : [{ made: false, hearing: { ...now.hearing, id: kept.id, date: kept.date } }, ...later]);
        told.current.splice(0).forEach(put);
        setTrouble("");
      } catch (error) {
        told.current.splice(0).forEach(put);
        setTrouble((error as Error).message);
        // Refused for good: not asked again and again. Else the desk is away, or busy.
        if (error instanceof Refusal && [400, 404, 422].includes(error.status)) { keep(drawn.current.slice(1)); continue; }
        if (alive.current) setTimeout(() => void deliver(), again_ms);
        break;
      }
    }
    sending.current = false;
  };
  useEffect(() => {
    alive.current = true;
    const load = () => get<{ hearings: Hearing[] }>("hearings").then((found) => setKnown(found.hearings), (error: Error) => setTrouble(error.message));
    const stop = listen({
      hello: () => { void load(); void deliver(); },
      // What is on its way is told by its answer; told before that, it would stand there twice.
      hearing: (hearing: Hearing) => { if (sending.current) told.current.push(hearing); else put(hearing); },
    });
    void load();
    void deliver();
    return () => { alive.current = false; stop(); };
  }, []);

  const add = (hearing: Pick<Hearing, "at" | "what" | "who" | "rule">) => {
    const id = `here-${Date.now()}-${drawn.current.length}`;
    keep([...drawn.current, { made: true, hearing: { ...hearing, id, date: new Date().toISOString(), note: "", undone: false } }]);
    void deliver();
  };
  // One that never left is changed where it waits. `typing`: kept here letter by letter, told when it is done.
  const change = (hearing: Hearing, what: Partial<Hearing>, typing = false) => {
    const next = { ...hearing, ...what };
    const at = drawn.current.findIndex((one) => one.hearing.id === hearing.id);
    keep(at < 0 ? [...drawn.current, { made: false, hearing: next }]
      : drawn.current.map((one, n) => n === at ? { ...one, hearing: next } : one));
    if (!typing) void deliver();
  };
  const pending = new Map(waiting.map((one) => [one.hearing.id, one.hearing]));
  const all = [...waiting.filter((one) => one.made).map((one) => one.hearing).reverse(), ...known.map((one) => pending.get(one.id) ?? one)]
    .filter((one, n, list) => !one.undone && list.findIndex((other) => other.id === one.id) === n);
  return { all, pending, trouble, add, change };
}

export const dayOf = (date: string) => {
  const when = new Date(date), two = (n: number) => String(n).padStart(2, "0");
  return `${when.getFullYear()}-${two(when.getMonth() + 1)}-${two(when.getDate())}`;
};
