// A page as the server sets it, as a picture. What was there stays until the new one is there.
import { useEffect, useState } from "preact/hooks";
import { refusal } from "../api";

export interface Picture { at: string; lines: number; pages: number }

// path: an address; null: nothing is asked. Another version asks anew.
export function usePicture(path: string | null, version = 0): { page: Picture | null; trouble: string; fresh: boolean } {
  const key = path && `${version} ${path}`;
  const [state, setState] = useState<{ key: string | null; page: Picture | null; trouble: string }>({ key: null, page: null, trouble: "" });
  useEffect(() => {
    if (!path) return;
    const stop = new AbortController();
    const timer = setTimeout(async () => {
      try {
        const answer = await fetch(path, { signal: stop.signal });
        if (!answer.ok) {
          const body = await answer.json().catch(() => null);
          throw refusal(answer, body);
        }
        const at = URL.createObjectURL(await answer.blob());
        const page = { at, lines: Number(answer.headers.get("Mistara-Lines")), pages: Number(answer.headers.get("Mistara-Pages")) };
        if (stop.signal.aborted) URL.revokeObjectURL(at);
        else setState((was) => { if (was.page) URL.revokeObjectURL(was.page.at); return { key, page, trouble: "" }; });
      } catch (error) {
        if (!stop.signal.aborted) setState((was) => ({ ...was, key, trouble: (error as Error).message }));
      }
    }, 250);
    return () => { clearTimeout(timer); stop.abort(); };
  }, [key]);
  return { page: state.page, trouble: state.trouble, fresh: state.key === key };
}
