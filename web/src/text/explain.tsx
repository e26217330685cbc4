// What is read at a letter or in a word: what, why, how long, what the mouth does, and who says so.
import { get, here, type Explained, type Query, type Reading } from "../api";
import { useAsked, useDesk } from "../desk";
import { HearThere } from "./hear";
import type { Chosen } from "./passage";

// A ruler with a tick for each count; dotted where fewer or more are allowed.
export function Ruler(props: { counts: number; most?: number | null; least?: number | null }) {
  const { counted } = useDesk();
  const most = Math.max(props.counts, props.most ?? 0), least = props.least ?? props.counts;
  return <span class="counts">
    <svg aria-hidden="true" width={most * 16 + 4} height="18" viewBox={`0 0 ${most * 16 + 4} 18`}>
      <path class="drawn" d={`M2 5H${2 + Math.min(least, most) * 16}`} stroke-width="2.4" />
      {least < most && <path class="drawn" d={`M${2 + least * 16 + 5} 5H${2 + most * 16}`} stroke-width="2.4" stroke-dasharray="0 5.2" />}
      {Array.from({ length: Math.round(props.counts) }, (_, n) =>
        <path key={n} class="drawn" d={`M${10 + n * 16} 5v9`} stroke-width="2.4" />)}
    </svg>
    <span>{counted(props.counts, "counts")}{least < most ? ` (${least}–${most})` : ""}</span>
  </span>;
}

export function Explain(props: { reading: Reading; chosen: Chosen; how: Query; choose: (chosen: Chosen | null) => void; toggleStop: (word: number) => void }) {
  const { t, in_lang } = useDesk();
  const { reading, chosen } = props;
  const word = reading.words[chosen.word]!;
  const at = chosen.letter === null ? word.at : reading.letters[chosen.letter]!.at;
  const { value, trouble, fresh } = useAsked<Explained>(`${at} ${JSON.stringify(props.how)} ${reading.passage}`,
    (signal) => get("explain", { at, ...props.how }, signal), () => here("explain", { at, ...props.how }));
  const [first, count] = word.letters;
  return <section class="explain" aria-label={t("explained")} aria-busy={!fresh} onKeyDown={(event) => { if (event.key === "Escape") props.choose(null); }}>
    <div class="explain-head">
      <p class="scripture word-large" lang="ar" dir="rtl">{word.display}</p>
      <button type="button" class="quiet" onClick={() => props.choose(null)}>{t("clear")}</button>
    </div>
    <p class="place-note"><bdi>{at}</bdi></p>
    <div class="letters" role="group" aria-label={t("letters_of_word")}>
      <button type="button" aria-pressed={chosen.letter === null} onClick={() => props.choose({ ...chosen, letter: null })}>{t("whole_word")}</button>
      {reading.letters.slice(first, first + count).map((letter, n) =>
        <button type="button" key={letter.at} lang="ar" class="letter" aria-pressed={chosen.letter === first + n}
          onClick={() => props.choose({ ...chosen, letter: first + n })}>{letter.base}</button>)}
    </div>
    {chosen.word + 1 < reading.words.length && <button type="button" class="quiet stop-here" aria-pressed={word.seam === "stop"}
      onClick={() => props.toggleStop(chosen.word)}>{t("stop_here")}</button>}
    <HearThere at={at} passage={reading.passage} />
    {trouble && <p role="alert" class="trouble">{trouble}</p>}
    <div aria-live="polite">
      {value?.letter && <p class="letter-note"><b>{in_lang(value.letter, "name")}</b>
        <span>{in_lang(value.letter, "region")}: {in_lang(value.letter, "place_name")}</span></p>}
      {value && value.sites.length === 0 && <p>{t(chosen.letter === null ? "no_rule_word" : "no_rule")}</p>}
      {value?.sites.map((site) => <article key={site.rule + site.at} style={{ borderColor: `var(--ink-${site.family})` }}>
        <h3>{in_lang(site, "name")}</h3>
        {site.counts ? <Ruler counts={site.counts} least={site.counts_min} most={site.counts_max} /> : null}
        <dl>
          <dt>{t("why")}</dt><dd>{in_lang(site, "reason")}</dd>
          <dt>{t("mouth")}</dt><dd>{in_lang(site, "mouth")}</dd>
          <dt>{t("source")}</dt><dd>{in_lang(site, "source")}</dd>
        </dl>
      </article>)}
    </div>
  </section>;
}
