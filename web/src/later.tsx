// A screen whose script is fetched when it is first shown, or when there is time.
import type { FunctionComponent } from "preact";
import { useEffect, useState } from "preact/hooks";
import { useDesk } from "./desk";

const again_ms = 3000;

export function later<P extends object>(load: () => Promise<FunctionComponent<P>>): { Screen: FunctionComponent<P>; fetch: () => void } {
  let ready: FunctionComponent<P> | null = null, asked: Promise<void> | null = null;
  const fetch = () => asked ??= load().then((found) => { ready = found; }, (error: unknown) => { asked = null; throw error; });
  const Later: FunctionComponent<P> = (props) => {
    const { t } = useDesk();
    const [, setThere] = useState(!!ready);
    const [trouble, setTrouble] = useState("");
    useEffect(() => {
      let wait = 0;
      const come = () => fetch().then(() => setThere(true), (error: Error) => { setTrouble(error.message); wait = window.setTimeout(come, again_ms); });
      if (!ready) void come();
      return () => clearTimeout(wait);
    }, []);
    if (ready) { const Ready = ready; return <Ready {...props} />; }
    return trouble ? <p role="alert" class="trouble">{trouble}</p> : <p role="status">{t("waiting")}</p>;
  };
  return { Screen: Later, fetch: () => { fetch().catch(() => {}); } };
}
