// How a take was read: another way forgets what was heard, so it is kept and listened to in one go.
import { useEffect, useState } from "preact/hooks";
import { lengthChoices, once, send, type Query, type Rules } from "../api";
import { useDesk } from "../desk";
import { Choice } from "../lesson/parts";
import { counted } from "../words";
import type { Take } from "./types";

export function HowOfTake(props: { take: Take; act: (doing: Promise<unknown>) => void }) {
  const { t, lang } = useDesk();
  const { take, act } = props;
  const kept = JSON.stringify(take.how);
  const [how, setHow] = useState<Query>(take.how);
  const [rules, setRules] = useState<Rules | null>(null);
  useEffect(() => { once<Rules>("rules").then(setRules, () => {}); }, []);
  useEffect(() => setHow(take.how), [kept]);
  const put = (name: string, value: string | number) => {
    const { [name]: _, ...rest } = how;
    setHow(value === "" || value === 0 ? rest : { ...rest, [name]: value });
  };
  const same = JSON.stringify(Object.entries(how).sort()) === JSON.stringify(Object.entries(take.how).sort());
  const stops = String(how.stops ?? ""), listed = /^\d/.test(stops);
  return <details class="leaf slim how-of-take">
    <summary>{t("how_was_read")}</summary>
    <p class="note">{t("how_lead")}</p>
    <div class="bar">
      <label class="family"><input type="checkbox" checked={!!how.no_basmala} onChange={() => put("no_basmala", how.no_basmala ? 0 : 1)} />{t("no_basmala")}</label>
      <Choice label={t("stops")} value={stops} set={(value) => put("stops", value)}
        choices={[["", t("at_verses")], ["signs", t("at_signs")], ["none", t("no_stops")], ...(listed ? [[stops, t("own_stops")] as [string, string]] : [])]} />
      {lengthChoices(rules).map(({ name, counts }) => <Choice key={name} label={t(name)} value={String(how[name] ?? "")} set={(value) => put(name, value && Number(value))}
        choices={[["", t("as_usual")], ...counts.map((count): [string, string] => [count, counted(lang, Number(count), "counts")])]} />)}
      <button type="button" disabled={same || !!take.job} onClick={() => act(send("PATCH", `takes/${take.id}`, { how })
        .then(() => send("POST", `takes/${take.id}/listen`)))}>{t("keep_and_listen")}</button>
    </div>
  </details>;
}
