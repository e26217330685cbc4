// Where to: a passage as a teacher would write it, or words to look for; and the neighbours.
import { useEffect, useState } from "preact/hooks";
import { get, here as known, once, type Hit, type Resolved, type Sura } from "../api";
import { useDesk } from "../desk";

export function Chooser(props: { passage: string; open: (passage: string) => void }) {
  const { t, lang } = useDesk();
  const [typed, setTyped] = useState(props.passage);
  const [suras, setSuras] = useState<Sura[]>(() => known<{ suras: Sura[] }>("suras")?.suras ?? []);
  const [hits, setHits] = useState<{ hits: Hit[]; more: boolean } | null>(null);
  const [parts, setParts] = useState<string[]>([]);
  const [trouble, setTrouble] = useState("");
  useEffect(() => { if (!suras.length) once<{ suras: Sura[] }>("suras").then((found) => setSuras(found.suras), () => {}); }, []);
  useEffect(() => { setTyped(props.passage); setHits(null); setParts([]); setTrouble(""); }, [props.passage]);

  const look = async () => {
    setTrouble("");
    setHits(null);
    setParts([]);
    if (!typed.trim()) { setTrouble(t("say_where")); return; }
    try {
      const found = await get<Resolved>("passage", { q: typed });
      if (found.parts.length > 1) setParts(found.parts);
      else props.open(found.passage);
    } catch (refusal) {
      try {
        const arabic = /[\u0600-\u06ff]/.test(typed);
        const found = await get<{ hits: Hit[]; more: boolean }>("search", { q: typed, in: arabic ? null : "en", limit: 30 });
        if (found.hits.length) setHits(found);
        else setTrouble(/\d/.test(typed) ? (refusal as Error).message : t("nothing_found"));
      } catch (error) {
        setTrouble((error as Error).message);
      }
    }
  };
  const [sura, verses] = props.passage.split(":");
  const [first, last] = (verses ?? "1").split("-").map((part) => parseInt(part, 10));
  const here = suras.find((one) => one.sura === Number(sura));
  const span = (last ?? first ?? 1) - (first ?? 1) + 1;
  const simple = here && /^\d+:\d+(-\d+)?$/.test(props.passage);
  const range = (from: number) => `${sura}:${from}-${Math.min(from + span - 1, here!.verses)}`;
  return <div class="chooser">
    <form role="search" onSubmit={(event) => { event.preventDefault(); void look(); }}>
      <label class="grow">{t("passage_or_words")}
        <input type="search" dir="auto" value={typed} placeholder={t("passage_hint")} onInput={(event) => setTyped(event.currentTarget.value)} />
      </label>
      <button type="submit">{t("open")}</button>
      <label>{t("sura")}
        <select value={here ? String(here.sura) : ""} onChange={(event) => {
          const one = suras.find((one) => one.sura === Number(event.currentTarget.value));
          if (one) props.open(`${one.sura}:1-${Math.min(one.verses, 5)}`);
        }}>
          {!here && <option value="" />}
          {suras.map((one) => <option key={one.sura} value={one.sura}>{one.sura} {lang === "ar" ? one.name_ar : one.name}</option>)}
        </select>
      </label>
      {simple && <div class="steps">
        <button type="button" class="quiet" disabled={first! <= 1} onClick={() => props.open(range(Math.max(1, first! - span)))}>{t("before")}</button>
        <button type="button" class="quiet" disabled={(last ?? first)! >= here.verses} onClick={() => props.open(range((last ?? first)! + 1))}>{t("after")}</button>
      </div>}
    </form>
    <div aria-live="polite">
      {trouble && <p class="trouble">{trouble}</p>}
      {parts.length > 0 && <section aria-label={t("found")} class="hits"><p>{t("in_parts")}</p><ol>
        {parts.map((part) => <li key={part}>
          <a href={`/text/${part}`} onClick={(event) => { event.preventDefault(); props.open(part); }}><bdi class="at">{part.replace("-", "–")}</bdi></a></li>)}
      </ol></section>}
      {hits && <section aria-label={t("found")} class="hits"><ol>
        {hits.hits.map((hit, n) => <li key={n}>
          <a href={`/text/${hit.at}`} onClick={(event) => { event.preventDefault(); props.open(hit.at); }}>
            <bdi class="at">{hit.at}</bdi>
            <span class="scripture line" lang="ar" dir="rtl">{hit.display}</span>
            {hit.translation && <span lang="en" dir="ltr" class="translation">
              {hit.translation.text.slice(0, hit.translation.start)}
              <mark>{hit.translation.text.slice(hit.translation.start, hit.translation.start + hit.translation.length)}</mark>
              {hit.translation.text.slice(hit.translation.start + hit.translation.length)}</span>}
          </a></li>)}
      </ol>{hits.more && <p>{t("more_there")}</p>}</section>}
    </div>
  </div>;
}
