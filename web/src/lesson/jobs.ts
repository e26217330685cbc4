// What the desk tells while the page is open.
import { useEffect, useRef, useState } from "preact/hooks";
import { get } from "../api";
import { told } from "../told";

export interface MadeFile { name: string; type: string; bytes: number }
export interface Work {
  id: string; kind: string; about: string; state: string; doing: string | null; progress: number; made: string;
  reason: string | null; reason_ar: string | null; files: MadeFile[]; gone?: boolean;
  result: { missing?: { part: string; message: string; message_ar: string }[] } | null;
}

// The long work about one thing, latest first.
export function useWork(about: string, kind: string): { work: Work[]; drop: (id: string) => void; add: (job: Work) => void } {
  const [work, setWork] = useState<Work[]>([]);
  const put = (job: Work) => setWork((all) => job.gone ? all.filter((one) => one.id !== job.id)
    : all.some((one) => one.id === job.id) ? all.map((one) => one.id === job.id ? job : one) : [job, ...all]);
  const drop = (id: string) => setWork((all) => all.filter((one) => one.id !== id));
  useEffect(() => {
    const load = () => get<{ jobs: Work[] }>("jobs", { about }).then((found) => setWork(found.jobs.filter((one) => one.kind === kind)), () => {});
    const mine = (job: Work) => job.gone || (job.about === about && job.kind === kind);
    return told({ hello: () => void load(), job: (job: Work) => { if (mine(job)) put(job); } });
  }, [about, kind]);
  return { work, drop, add: put };
}

// Something changed on the desk: lessons come and go in other windows too.
export function useTold(name: string, then: () => void) {
  const act = useRef(then);
  act.current = then;
  useEffect(() => {
    return told({ [name]: () => act.current(), hello: () => act.current() });
  }, [name]);
}
