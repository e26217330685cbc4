// The learner's work on this device: read from where it is kept, changed there first, then seen.
import { useEffect, useRef, useState } from "preact/hooks";
import { allWorks, putWork, type Work } from "./kept";
import { Outbox } from "./outbox";

export interface Drawer {
  works: Work[]; loaded: boolean; away: string; full: string;
  put: (work: Work) => void;
  forget: (work: Work) => void;
  send: () => void;
}

export function useDrawer(person: string | null, accepted: () => void): Drawer {
  const [works, setWorks] = useState<Work[]>([]);
  const [loaded, setLoaded] = useState(false);
  const [away, setAway] = useState("");
  const [full, setFull] = useState("");
  const now = useRef<Work[]>([]), box = useRef<Outbox | null>(null), told = useRef(accepted);
  told.current = accepted;
  const show = (next: Work[]) => { now.current = next; setWorks(next.map((one) => ({ ...one }))); };
  useEffect(() => {
    if (!person) { show([]); setLoaded(false); return; }
    let alive = true;
    const outbox = box.current = new Outbox(() => now.current, (work, gone) => {
      if (!alive) return;
      setAway(outbox.away);
      show(gone ? now.current.filter((one) => one.id !== work.id) : now.current);
      if (gone) told.current();
    });
    allWorks(person).then((found) => {
      if (!alive) return;
      // What stands here was cut off: it was not being recorded by anyone any more.
      show(found);
      setLoaded(true);
      outbox.now();
    }, (error: Error) => { if (alive) { setFull(error.message); setLoaded(true); } });
    return () => { alive = false; outbox.close(); };
  }, [person]);
  return {
    works, loaded, away, full,
    put: (work) => {
      show(now.current.some((one) => one.id === work.id) ? now.current.map((one) => one.id === work.id ? work : one) : [...now.current, work]);
      putWork(work).then(() => setFull(""), (error: Error) => setFull(error.message));
    },
    forget: (work) => show(now.current.filter((one) => one.id !== work.id)),
    send: () => box.current?.now(),
  };
}
