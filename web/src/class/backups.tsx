// The whole book as one file to carry away, and which such files there are: receipts of deletions
// name them until they were destroyed.
import { useEffect, useState } from "preact/hooks";
import { get, send } from "../api";
import { useDesk, useWords } from "../desk";
import { Trouble, useAct } from "./choose";
import { download } from "./download";
import { dayText } from "./types";
import { classWords } from "./words";

interface Backup { id: string; name: string; digest: string | null; bytes: number; made_ms: number }

const megabytes = (bytes: number) => `${(bytes / 1e6).toFixed(bytes < 1e7 ? 1 : 0)} MB`;

export function Backups() {
  const t = useWords(classWords);
  const { lang } = useDesk();
  const { act, trouble, busy } = useAct();
  const [backups, setBackups] = useState<Backup[]>([]);
  const load = async () => {
    const found = (await get<{ backups: Backup[] }>("backups")).backups;
    setBackups(found);
    return found;
  };
  useEffect(() => { load().catch(() => {}); }, []);
  const carry = async () => {
    const known = new Set(backups.map((one) => one.id));
    await download("backups", async () => (await load()).find((one) => !known.has(one.id))?.name ?? "mistara.tar");
  };
  return <details class="backups"><summary>{t("backups")} ({backups.length})</summary>
    <p class="note">{t("backups_lead")}</p>
    <p><button type="button" disabled={busy} onClick={() => void act(carry)}>{t("carry_away")}</button></p>
    <Trouble of={trouble} />
    <ul class="legend">{backups.map((one) => <li key={one.id}><bdi>{one.name}</bdi> <span class="faint">{dayText(lang, one.made_ms)} · <bdi>{megabytes(one.bytes)}</bdi></span>{" "}
      <button type="button" class="quiet" aria-label={`${t("destroyed")}: ${one.name}`} onClick={() => {
        if (confirm(`${t("destroyed_sure")} ${one.name}`)) void act(async () => { await send("DELETE", `backups/${one.id}`); await load(); });
      }}>{t("destroyed")}</button></li>)}</ul>
  </details>;
}
