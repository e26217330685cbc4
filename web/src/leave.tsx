// Before signing out: how to come back. And the teacher's passphrase, which is one way to.
import { useState } from "preact/hooks";
import { get, send, type Session } from "./api";
import { useDesk, useWords } from "./desk";

const leaveWords = {
  back_link: ["To come back after signing out, close the desk and start it again: it prints a new link. The one you came with does not hold a second time.",
    "للعودة بعد الخروج أغلق البرنامج وأعد تشغيله ليطبع رابطا جديدا؛ فالرابط الذي دخلت به لا يصلح مرة ثانية."],
  back_both: ["To come back after signing out, type the passphrase, or start the desk again: it prints a new link.",
    "للعودة بعد الخروج اكتب عبارة المرور، أو أعد تشغيل البرنامج ليطبع رابطا جديدا."],
  back_passphrase: ["To come back after signing out, type the passphrase.", "للعودة بعد الخروج اكتب عبارة المرور."],
  back_card: ["To come back after signing out you need a new code from the teacher: the one you came with holds once.",
    "للعودة بعد الخروج تحتاج إلى رمز جديد من المعلم؛ فالرمز الذي دخلت به يصلح مرة واحدة."],
  unset_lead: ["With a passphrase you come in without a new link, in another browser too. Others who are signed in as the teacher are signed out when it is set.",
    "بعبارة المرور تدخل بلا رابط جديد، ومن متصفح آخر أيضا. وعند وضعها يخرج المعلم من المتصفحات الأخرى."],
  set_lead: ["A passphrase is set. Others who are signed in as the teacher are signed out when it is changed.",
    "عبارة المرور موضوعة. وعند تغييرها يخرج المعلم من المتصفحات الأخرى."],
  kind: ["At least 10 characters; several words are best.", "10 أحرف على الأقل، والأفضل عدة كلمات."],
  current: ["The passphrase as it is", "عبارة المرور الحالية"], fresh: ["New passphrase", "عبارة المرور الجديدة"], again: ["The same once more", "العبارة نفسها مرة أخرى"],
  set_it: ["Set the passphrase", "ضع عبارة المرور"], change_it: ["Change the passphrase", "غيّر عبارة المرور"],
  differ: ["The two are not the same.", "العبارتان مختلفتان."], holds: ["The passphrase holds from now on.", "عبارة المرور صالحة من الآن."],
} satisfies Record<string, [string, string]>;

export function Leaving(props: { session: Session; changed: (session: Session) => void; leave: () => void }) {
  const { t } = useDesk();
  const w = useWords(leaveWords);
  const { ways, role, token } = props.session;
  if (!token) return <p role="status">{t("waiting")}</p>; // how one comes in here is not known yet
  const back = role !== "teacher" ? "back_card" : !ways.includes("passphrase") ? "back_link" : ways.includes("link") ? "back_both" : "back_passphrase";
  return <div class="leaving">
    <h1>{t("sign_out")}</h1>
    <p>{w(back)}</p>
    <p><button type="button" onClick={props.leave}>{t("sign_out")}</button></p>
    {role === "teacher" && <Passphrase set={props.session.passphrase} changed={props.changed} />}
  </div>;
}

function Passphrase({ set, changed }: { set: boolean; changed: (session: Session) => void }) {
  const { t } = useDesk();
  const w = useWords(leaveWords);
  const [current, setCurrent] = useState("");
  const [fresh, setFresh] = useState("");
  const [again, setAgain] = useState("");
  const [said, setSaid] = useState("");
  const [trouble, setTrouble] = useState("");
  const [busy, setBusy] = useState(false);
  const keep = async () => {
    setSaid("");
    setTrouble("");
    if (fresh !== again) { setTrouble(w("differ")); return; }
    setBusy(true);
    try {
      await send("PUT", "passphrase", { passphrase: fresh, ...(set ? { current } : {}) });
      [setCurrent, setFresh, setAgain].forEach((empty) => empty(""));
      setSaid(w("holds"));
      changed(await get<Session>("session"));
    } catch (error) { setTrouble((error as Error).message); }
    setBusy(false);
  };
  const field = (name: "current" | "fresh" | "again", value: string, put: (value: string) => void) => <label>{w(name)}
    <input type="password" required autocomplete={name === "current" ? "current-password" : "new-password"} value={value}
      aria-describedby={name === "fresh" ? "kind" : undefined} onInput={(event) => put(event.currentTarget.value)} /></label>;
  return <section class="leaf" aria-labelledby="passphrase">
    <h2 id="passphrase">{t("passphrase")}</h2>
    <p>{w(set ? "set_lead" : "unset_lead")}</p>
    <form onSubmit={(event) => { event.preventDefault(); void keep(); }}>
      {set && field("current", current, setCurrent)}
      {field("fresh", fresh, setFresh)}
      <p id="kind" class="note">{w("kind")}</p>
      {field("again", again, setAgain)}
      <button type="submit" disabled={busy}>{w(set ? "change_it" : "set_it")}</button>
    </form>
    <p role="status">{said}</p>
    {trouble && <p role="alert" class="trouble">{trouble}</p>}
  </section>;
}
