// The listening desk: what was handed in, in order of need; one of them open.
import { useEffect, useRef, useState } from "preact/hooks";
import { get } from "../api";
import { go, remember, useDesk, useWords, type Place } from "../desk";
import { ClassPicker, classNow, Go, Trouble, useClasses, useTeaching } from "../class/choose";
import { dateLang, placesText } from "../class/types";
import { classWords } from "../class/words";
import { told } from "../told";
import { OneSubmission } from "./one";
import type { Row } from "./types";

const look_ms = 20_000;
export const states = { received: "state_received", listening: "state_listening", heard: "state_heard", refused: "state_refused" } as const;

export function RoundScreen({ place }: { place: Place }) {
  const t = useWords(classWords);
  const { lang } = useDesk();
  const teaching = useTeaching();
  const { classes, trouble } = useClasses();
  const now = classes ? classNow(classes, place.path[1]) : undefined;
  const [rows, setRows] = useState<Row[] | null>(null);
  const [missing, setMissing] = useState("");
  const [answered, setAnswered] = useState(false);
  const all = useRef(answered);
  all.current = answered;
  const load = (id: string) => get<{ submissions: Row[] }>(`classes/${id}/desk`, { sent: all.current ? 1 : null }).then((found) => { setRows(found.submissions); setMissing(""); },
    (error: Error) => setMissing(error.message));
  useEffect(() => {
    if (!now) return;
    remember("class", now.id);
    void load(now.id);
    const again = () => void load(now.id);
    const timer = setInterval(() => { if (document.visibilityState === "visible") again(); }, look_ms);
    const hush = told({ submission: again, hello: again });
    return () => { clearInterval(timer); hush(); };
  }, [now?.id, answered]);
  if (!classes) return <p role={trouble ? "alert" : "status"}>{trouble || "…"}</p>;
  if (!now) return <div class="round"><h1>{t("queue")}</h1><p class="faint">{t("no_class")} <Go to="/class">{t("classes")}</Go></p></div>;
  const open = place.path[2];
  const shown = rows?.filter((row) => answered || !row.sent_ms || row.id === open) ?? [];
  const after = (id: string) => {
    const waiting = shown.filter((row) => !row.sent_ms && row.id !== id), at = shown.findIndex((row) => row.id === id);
    return waiting.find((row) => shown.indexOf(row) > at) ?? waiting[0];
  };
  return <div class={open ? "round opened" : "round"}>
    <aside class="queue" aria-label={t("queue")}>
      <h1>{t("queue")} <span class="faint"><bdi>{now.name}</bdi></span></h1>
      <ClassPicker classes={classes} now={now} to="listening" />
      <label class="family"><input type="checkbox" checked={answered} onChange={() => setAnswered(!answered)} />{t("show_sent")}</label>
      <Trouble of={missing} />
      {rows && shown.length === 0 && <p class="faint">{t("queue_empty")}</p>}
      <ol>{shown.map((row) => <li key={row.id}>
        <Go to={`/listening/${now.id}/${row.id}`} current={row.id === open}>
          <b><bdi>{row.label ?? t("nobody")}</bdi></b>
          <span class="faint"><bdi>{row.title || row.passage}</bdi></span>
          <span class="faint">{row.sent_ms ? t("state_sent") : t(states[row.state as keyof typeof states] ?? "state_received")}
            {row.state === "heard" && <> · {placesText(lang, row.places)}</>} · {new Date(row.made_ms).toLocaleDateString(dateLang(lang), { day: "numeric", month: "short" })}</span>
          <i class="need" style={{ inlineSize: `${Math.round(Math.max(0.04, Math.min(1, row.need)) * 100)}%` }} aria-hidden="true" />
        </Go></li>)}</ol>
    </aside>
    {open && <OneSubmission key={open} id={open} teaching={teaching} seen={rows?.find((row) => row.id === open)?.state ?? ""}
      back={`/listening/${now.id}`} changed={() => void load(now.id)} next={() => {
        const row = after(open);
        go(row ? `/listening/${now.id}/${row.id}` : `/listening/${now.id}`);
      }} />}
  </div>;
}
