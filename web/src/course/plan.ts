// The course held against the text by the desk. That takes it some seconds: what was asked once is
// kept, and a new question waits until the answer to the last is there.
import { useEffect, useRef, useState } from "preact/hooks";
import { get } from "../api";

export interface Plan {
  needs: { lesson: number; shows: string; shows_ar: string; passage: string; rule: string; taught_in: number | null }[];
  gaps: { member: string; member_ar: string; lesson: number; in_text: number }[];
  never_taught: string[]; juz_untouched: number[]; members: number; members_shown: number;
}


const answered = new Map<string, Plan>();
const pause_ms = 800;

// key: the part of the saved text that the answer hangs on; null: nothing to ask.
export function usePlan(key: string | null): { plan: Plan | null; trouble: string; waits: boolean } {
  const [state, setState] = useState<{ key: string | null; plan: Plan | null; trouble: string }>({ key: null, plan: null, trouble: "" });
  const last = useRef<Promise<unknown>>(Promise.resolve());
  useEffect(() => {
    const known = key === null ? undefined : answered.get(key);
    if (key === null || known) { setState({ key, plan: known ?? null, trouble: "" }); return; }
    let wanted = true;
    const timer = setTimeout(() => {
      last.current = last.current.then(async () => {
        if (!wanted) return;
        try {
          const plan = await get<Plan>("course/plan");
          if (!wanted) return;
          answered.set(key, plan);
          setState({ key, plan, trouble: "" });
        } catch (error) {
          if (wanted) setState({ key, plan: null, trouble: (error as Error).message });
        }
      });
    }, answered.size || state.key ? pause_ms : 0);
    return () => { wanted = false; clearTimeout(timer); };
  }, [key]);
  return { plan: state.plan, trouble: state.trouble, waits: key !== null && state.key !== key };
}
