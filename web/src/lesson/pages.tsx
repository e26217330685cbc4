// The handout and the slides page by page, as they would be made of the lesson as it is saved.
import { useState } from "preact/hooks";
import { address } from "../api";
import { useDesk } from "../desk";
import { usePicture } from "./picture";
import { Choice } from "./parts";

export function Pages(props: { lesson: string; revision: number; passages: number; mistakes: boolean }) {
  const { t } = useDesk();
  const [open, setOpen] = useState(false);
  const [of, setOf] = useState("handout");
  const [passage, setPassage] = useState(1);
  const [number, setNumber] = useState(1);
  const wanted = Math.min(passage, Math.max(1, props.passages));
  const shown = open && !props.mistakes && props.passages > 0;
  const { page, trouble, fresh } = usePicture(shown ? address(`lessons/${props.lesson}/page.svg`, { of, passage: wanted, page: number }) : null, props.revision);
  const turn = (what: () => void) => { what(); setNumber(1); };
  // Fewer pages than before: the last one there is.
  if (page && fresh && !trouble && number > page.pages) setNumber(page.pages);
  return <details class="leaf slim pages" open={open} onToggle={(event) => setOpen(event.currentTarget.open)}>
    <summary>{t("pages_before")}</summary>
    {!props.passages && <p class="faint">{t("pages_no_passage")}</p>}
    {shown && <>
      <div class="bar">
        <Choice label={t("pages_of")} value={of} set={(next) => turn(() => setOf(next))} choices={[["handout", t("part_handout")], ["slides", t("part_slides")]]} />
        {props.passages > 1 && <Choice label={t("passage_one")} value={String(wanted)} set={(next) => turn(() => setPassage(Number(next)))}
          choices={Array.from({ length: props.passages }, (_, n): [string, string] => [String(n + 1), String(n + 1)])} />}
      </div>
      {trouble && <p class="trouble">{trouble}{" "}
        {number > 1 && <button type="button" class="quiet" onClick={() => setNumber(1)}>{t("page_n")} 1</button>}</p>}
      <figure class="sheet-page" aria-busy={!fresh}>
        {page && <figcaption class="faint">
          <button type="button" class="quiet" disabled={number <= 1} onClick={() => setNumber(number - 1)}>{t("before")}</button>
          {" "}{t("page_n")} {number}/{page.pages}{" "}
          <button type="button" class="quiet" disabled={number >= page.pages} onClick={() => setNumber(number + 1)}>{t("after")}</button></figcaption>}
        {page && !trouble && <img src={page.at} alt={`${t(of === "slides" ? "part_slides" : "part_handout")}, ${t("page_n")} ${number}`} />}
      </figure></>}
  </details>;
}
