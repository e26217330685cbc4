// What is made of the lesson, by the desk, while the teacher goes on: progress, cancel, download.
import { useState } from "preact/hooks";
import { send } from "../api";
import { remember, remembered, useDesk } from "../desk";
import type { Key } from "../words";
import { useWork, type Work } from "./jobs";
import { Works } from "./works";

const parts = ["handout", "slides", "cards", "questions", "captions", "practice", "film", "enrolment", "zip"] as const;
export function Make(props: { lesson: string; ready: () => Promise<void>; mistakes: boolean; takes: boolean }) {
  const { t } = useDesk();
  const [chosen, setChosen] = useState(() => new Set(remembered("parts")?.split(" ") ?? ["handout", "slides", "questions", "zip"]));
  const [trouble, setTrouble] = useState("");
  const { work, drop, add } = useWork(props.lesson, "lesson");
  const act = (doing: Promise<unknown>) => { setTrouble(""); doing.catch((error: Error) => setTrouble(error.message)); };
  const make = async () => {
    await props.ready();
    add(await send<Work>("POST", `lessons/${props.lesson}/build`, { make: parts.filter((one) => chosen.has(one)) }));
  };
  const busy = work.some((one) => one.state === "waiting" || one.state === "running");
  return <section class="leaf make" aria-labelledby="make">
    <h2 id="make">{t("make")}</h2>
    <p class="note">{t("make_lead")}</p>
    <div class="row" role="group" aria-labelledby="make">{parts.map((one) => <label key={one} class="family">
      <input type="checkbox" checked={chosen.has(one)} disabled={!props.takes && ["captions", "practice", "film"].includes(one)} onChange={() => {
        const next = new Set(chosen);
        if (!next.delete(one)) next.add(one);
        setChosen(next);
        remember("parts", [...next].join(" "));
      }} />{t(`part_${one}`)}</label>)}</div>
    <button type="button" disabled={busy || props.mistakes || !parts.some((one) => chosen.has(one))} onClick={() => act(make())}>{t("make_it")}</button>
    {trouble && <p class="trouble" role="alert">{trouble}</p>}
    <Works work={work} drop={drop} act={act} doing={(name) => parts.some((one) => one === name) ? t(`part_${name}` as Key) : null} />
  </section>;
}
