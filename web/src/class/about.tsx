// The terms of the class: its name, how long recordings are kept, what is agreed to.
import { useState } from "preact/hooks";
import { send } from "../api";
import { useWords } from "../desk";
import { Trouble, useAct } from "./choose";
import type { Class } from "./types";
import { classWords } from "./words";

export function About({ now, changed, gone }: { now: Class; changed: () => Promise<void>; gone: () => void }) {
  const t = useWords(classWords);
  const { act, trouble, busy } = useAct();
  const [name, setName] = useState(now.name);
  const [language, setLanguage] = useState(now.language);
  const [days, setDays] = useState(String(now.retention_days));
  const [consent, setConsent] = useState(now.consent);
  const [saved, setSaved] = useState(false);
  // Words of one's own are sent only when they are one's own: the usual ones follow days and language.
  const keep = (words: string | null) => act(async () => {
    if (!name.trim()) throw new Error(t("name_it"));
    await send("PATCH", `classes/${now.id}`, { name: name.trim(), language, retention_days: Number(days) || 0, revision: now.revision, ...(words === null ? {} : { consent: words }) });
    setSaved(true);
    await changed();
  });
  return <section aria-label={t("about_class")}>
    <form class="about" onSubmit={(event) => {
      event.preventDefault();
      void keep(consent.trim() === now.consent.trim() ? null : consent.trim());
    }} onInput={() => setSaved(false)}>
      <label>{t("class_name")}<input type="text" dir="auto" required maxLength={80} value={name} onInput={(event) => setName(event.currentTarget.value)} /></label>
      <label>{t("language")}<select value={language} onChange={(event) => setLanguage(event.currentTarget.value)}>
        <option value="en">{t("english")}</option><option value="ar">{t("arabic")}</option></select></label>
      <label>{t("retention")}<input type="number" min={0} max={3650} value={days} aria-describedby="retention-lead" onInput={(event) => setDays(event.currentTarget.value)} /></label>
      <p id="retention-lead" class="note">{t("retention_lead")}</p>
      <label>{t("consent_text")}<textarea rows={6} dir="auto" maxLength={4000} value={consent} onInput={(event) => setConsent(event.currentTarget.value)} /></label>
      <button type="button" class="quiet" disabled={busy} onClick={() => void keep("")}>{t("use_usual")}</button>
      <p class="row"><button type="submit" disabled={busy}>{t("keep")}</button> <span role="status">{saved ? t("saved") : ""}</span></p>
      <Trouble of={trouble} />
    </form>
    <p><button type="button" class="quiet" onClick={() => {
      if (confirm(`${t("remove_class_sure")} ${now.name}`)) void act(async () => { await send("DELETE", `classes/${now.id}`); gone(); });
    }}>{t("remove_class")}</button></p>
  </section>;
}
