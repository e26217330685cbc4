// Coming in with the code from the card; from its picture the code stands there already.
import { useEffect, useState } from "preact/hooks";
import { Refusal, send, type Session } from "../api";
import { useWords } from "../desk";
import { mineWords } from "./words";

const mark = "#join=";

export function Join(props: { instead: Session | null; entered: (session: Session) => void }) {
  const t = useWords(mineWords);
  const [code, setCode] = useState("");
  const [trouble, setTrouble] = useState("");
  const [busy, setBusy] = useState(false);
  useEffect(() => {
    const read = () => {
      if (!location.hash.startsWith(mark)) return;
      setCode(decodeURIComponent(location.hash.slice(mark.length)));
      // The secret does not stay in the address.
      history.replaceState(null, "", location.pathname + location.search);
    };
    read();
    window.addEventListener("hashchange", read);
    return () => window.removeEventListener("hashchange", read);
  }, []);
  const come = async () => {
    setTrouble("");
    setBusy(true);
    try {
      props.entered(await send<Session>("POST", "session", { code: code.trim().toLowerCase() }));
    } catch (error) {
      setTrouble(error instanceof Refusal ? t(error.status === 429 ? "code_slow" : "code_refused") : t("away"));
      setBusy(false);
    }
  };
  return <section class="door join">
    <h1>Mistara <span lang="ar">مسطرة</span></h1>
    <div class="ticks" aria-hidden="true" />
    <p>{t("code_lead")}</p>
    {props.instead && <p class="trouble">{t("instead")} <bdi>{props.instead.person?.label ?? t("the_teacher")}</bdi></p>}
    <form onSubmit={(event) => { event.preventDefault(); void come(); }}>
      <label>{t("code")}
        <input type="text" class="code" dir="ltr" required autocomplete="off" autocapitalize="none" spellcheck={false} placeholder={t("code_hint")}
          value={code} onInput={(event) => setCode(event.currentTarget.value)} /></label>
      <button type="submit" disabled={busy}>{t("come_in")}</button>
      {trouble && <p role="alert" class="trouble">{trouble}</p>}
    </form>
  </section>;
}
