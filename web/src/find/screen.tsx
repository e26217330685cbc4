// Find: single examples of a rule, passages rich in it, or the fewest verses that hold all of it.
import { useCallback, useEffect, useMemo, useState } from "preact/hooks";
import { drawn, get, once, type Ink, type Query, type Reading, type Rules } from "../api";
import { go, useAsked, useDesk, type Place } from "../desk";
import { Passage } from "../text/passage";
import { UseInLesson } from "./use";

interface Example { passage: string; title: string; display: string; clarity: number }
interface Group { rule: string; member: string; member_ar: string; in_range: number; examples: Example[] }
interface FoundPassage { passage: string; title: string; words: number; lines: number; seconds: number; sites: number }
interface Cover { verses: { at: string; display: string }[]; verse_count: number; word_count: number; proved: boolean }

const kinds = ["examples", "passages", "cover"] as const;

// A find as it will be read, with the marks of what was looked for and no others.
function Preview(props: { passage: string; title: string; note?: string; rules: Rules; rule: string; as: "examples" | "passage" }) {
  const { lang } = useDesk();
  const reading = useAsked<Reading>(`${props.passage} ${lang}`, (signal) => get("reading", drawn({ passage: props.passage, lang }), signal));
  const ink = useAsked<Ink>(props.passage, (signal) => get("ink", { passage: props.passage }, signal));
  const shown = useCallback((rule: string) => rule === props.rule, [props.rule]);
  const to = `/text/${props.passage}`;
  const open = () => go(to);
  return <li class="preview">
    <p><a href={to} onClick={(event) => { event.preventDefault(); open(); }}><bdi>{props.title}</bdi></a>
      {props.note && <span class="faint">{props.note}</span>}</p>
    {reading.trouble && <p class="trouble">{reading.trouble}</p>}
    {reading.value && <Passage small reading={reading.value} ink={ink.value} rules={props.rules} shown={shown} chosen={null}
      choose={(chosen) => { if (chosen) open(); }} />}
    <UseInLesson passage={props.passage} rule={props.rule} as={props.as} />
  </li>;
}

export function FindScreen({ place }: { place: Place }) {
  const { t, in_lang, counted } = useDesk();
  const kind = kinds.find((one) => one === place.path[1]) ?? "examples";
  const rule = place.query.get("rules") ?? "ikhfa", range = place.query.get("in") ?? "78-80";
  const [rules, setRules] = useState<Rules | null>(null);
  const [typed, setTyped] = useState(range);
  useEffect(() => { once<Rules>("rules").then(setRules, () => {}); }, []);
  useEffect(() => setTyped(range), [range]);
  const visit = (next: { kind?: string; rule?: string; range?: string }) =>
    go(`/find/${next.kind ?? kind}?rules=${next.rule ?? rule}&in=${encodeURIComponent(next.range ?? range)}`);
  const query: Query = { rules: rule, in: range, ...(kind === "examples" ? { per: 2 } : kind === "passages" ? { limit: 6 } : {}) };
  const asked = useAsked<{ kind: string; groups?: Group[]; passages?: FoundPassage[] } & Partial<Cover>>(
    JSON.stringify([kind, query]), async (signal) => ({ kind, ...await get<object>(`find/${kind}`, query, signal) }));
  const found = asked.value?.kind === kind && asked.fresh ? asked.value : null;
  const byFamily = useMemo(() => rules?.families.map((family) =>
    ({ family, rules: rules.rules.filter((one) => one.family === family.family) })).filter((one) => one.rules.length), [rules]);
  const preview = (passage: string, title: string, note?: string) =>
    <Preview key={passage} passage={passage} title={title} rules={rules!} rule={rule} as={kind === "examples" ? "examples" : "passage"} {...(note ? { note } : {})} />;
  return <div class="find">
    <h1 class="unseen">{t("find")}</h1>
    <form class="bar" onSubmit={(event) => { event.preventDefault(); visit({ range: typed }); }}>
      <label>{t("rule")}
        <select value={rule} onChange={(event) => visit({ rule: event.currentTarget.value })}>
          {byFamily?.map(({ family, rules: of }) => <optgroup key={family.family} label={in_lang(family, "name")}>
            {of.map((one) => <option key={one.rule} value={one.rule}>{in_lang(one, "name")}</option>)}
          </optgroup>)}
        </select></label>
      <label>{t("where")}<input type="text" dir="auto" value={typed} onInput={(event) => setTyped(event.currentTarget.value)} /></label>
      <button type="submit">{t("find_it")}</button>
      <div class="choice" role="group" aria-label={t("what_kind")}>
        {kinds.map((one) => <button type="button" key={one} aria-pressed={one === kind} onClick={() => visit({ kind: one })}>{t(one)}</button>)}
      </div>
    </form>
    <div aria-live="polite" aria-busy={!asked.fresh} class={kind === "examples" ? "found groups" : "found"}>
      {asked.trouble && <p class="trouble">{asked.trouble}</p>}
      {!asked.fresh && <p>{t("waiting")}</p>}
      {rules && found?.groups?.filter((group) => group.examples.length > 0).map((group) => <section key={group.member}>
        <h2>{in_lang(group, "member")} <span class="faint">{group.in_range}</span></h2>
        <ol class="previews">{group.examples.map((one) => preview(one.passage, one.title))}</ol>
      </section>)}
      {rules && found?.passages && <ol class="previews">{found.passages.map((one) =>
        preview(one.passage, one.title, `${counted(one.sites, "places")} · ${counted(one.words, "words")} · ${counted(Math.round(one.seconds), "seconds")}`))}</ol>}
      {rules && found?.verses && <section>
        <p class="faint">{counted(found.verse_count ?? 0, "verses")} · {counted(found.word_count ?? 0, "words")} · {t(found.proved ? "proved" : "not_proved")}</p>
        <ol class="previews">{found.verses.map((one) => preview(one.at, one.at))}</ol>
      </section>}
      {found && !(found.groups?.some((group) => group.examples.length) || found.passages?.length || found.verses?.length) && <p>{t("nothing_found")}</p>}
    </div>
  </div>;
}
