// A take as a film, made by the desk while the teacher goes on.
import { useState } from "preact/hooks";
import { send } from "../api";
import { useDesk } from "../desk";
import { useWork, type Work } from "../lesson/jobs";
import { Works } from "../lesson/works";
import type { Take } from "./types";

const steps = { "reading the sound": "doing_reading", listening: "doing_listening", filming: "doing_filming" } as const;

export function Film(props: { take: Take; act: (doing: Promise<unknown>) => void }) {
  const { t } = useDesk();
  const { take, act } = props;
  const [dark, setDark] = useState(false);
  const [fade, setFade] = useState(false);
  const { work, drop, add } = useWork(take.id, "film");
  const busy = work.some((one) => one.state === "waiting" || one.state === "running");
  return <section class="leaf slim make" aria-labelledby="film">
    <h2 id="film">{t("film_of_take")}</h2>
    <p class="note">{t("film_lead")}</p>
    <div class="row">
      <label class="family"><input type="checkbox" checked={dark} onChange={() => setDark(!dark)} />{t("film_dark")}</label>
      <label class="family"><input type="checkbox" checked={fade} onChange={() => setFade(!fade)} />{t("film_fade")}</label>
    </div>
    <button type="button" disabled={busy} onClick={() => act(send<Work>("POST", `takes/${take.id}/film`, { theme: dark ? "dark" : "light", fade }).then(add))}>{t("film_make")}</button>
    <Works work={work} drop={drop} act={act} doing={(name) => name in steps ? t(steps[name as keyof typeof steps]) : null} />
  </section>;
}
