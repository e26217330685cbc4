// Plainly: it is not with the teacher yet.
import { useWords } from "../desk";
import type { Drawer } from "./drawer";
import { dropWork, workSound, type Work } from "./kept";
import { mineWords } from "./words";

export function NotSent({ work, drawer }: { work: Work; drawer: Drawer }) {
  const t = useWords(mineWords);
  return <div class="not-sent" role="status">
    <p><b>{t("not_sent")}</b> {work.trouble ? <span dir="auto">{work.trouble}</span> : t("sent_by_itself")}</p>
    {work.trouble ? <Refused work={work} drawer={drawer} />
      : <progress max={work.bytes || 1} value={work.have} aria-label={t("state_sending")} />}
    {drawer.away && !work.trouble && <p class="faint">{t("state_waits")}</p>}
  </div>;
}

// Refused for good: it can be saved elsewhere, tried once more, or given up.
function Refused({ work, drawer }: { work: Work; drawer: Drawer }) {
  const t = useWords(mineWords);
  const save = async () => {
    const link = document.createElement("a");
    link.href = URL.createObjectURL(await workSound(work));
    link.download = `${work.title || "recitation"}.${work.type.split("/")[1] ?? "audio"}`;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
  };
  return <p class="row">
    <button type="button" class="quiet" onClick={() => void save()}>{t("save_it")}</button>
    <button type="button" class="quiet" onClick={() => { drawer.put({ ...work, trouble: "" });
      drawer.send(); }}>{t("pinch_again")}</button>
    <button type="button" class="quiet" onClick={() => {
      if (confirm(t("take_back_sure"))) void dropWork(work).then(() => drawer.forget(work));
    }}>{t("take_back")}</button></p>;
}
