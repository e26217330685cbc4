// Text: any passage, its marks, its stops, and what is read at each letter.
import { useCallback, useEffect, useMemo, useState } from "preact/hooks";
import { address, get, once, type Ink, type Query, type Reading, type Rules } from "../api";
import { go, remember, remembered, useAsked, useDesk, type Place } from "../desk";
import { Chooser } from "./chooser";
import { Explain } from "./explain";
import { Passage, type Chosen } from "./passage";

const lengths: ["muttasil" | "munfasil" | "arid" | "lin", string[]][] = [
  ["muttasil", ["4", "5"]], ["munfasil", ["2", "4", "5"]], ["arid", ["2", "4", "6"]], ["lin", ["2", "4", "6"]],
];

export function TextScreen({ place }: { place: Place }) {
  const { t, lang, in_lang } = useDesk();
  const passage = place.path[1] ?? remembered("passage") ?? "67:1-5";
  const how = useMemo(() => {
    const query: Query = {};
    for (const [name, value] of place.query) query[name] = value;
    return query;
  }, [place.query.toString()]);
  const [rules, setRules] = useState<Rules | null>(null);
  const [families, setFamilies] = useState<Set<string>>(() => new Set(remembered("families")?.split(" ").filter(Boolean)
    ?? ["length", "nasal", "merge", "turn", "hide", "echo"]));
  const [plain, setPlain] = useState(false);
  const [chosen, setChosen] = useState<Chosen | null>(null);
  useEffect(() => { once<Rules>("rules").then(setRules, () => {}); }, []);
  useEffect(() => setChosen(null), [passage]);
  const key = `${passage}?${place.query}&${lang}`;
  const reading = useAsked<Reading>(key, (signal) => get("reading", { passage, ...how, lang }, signal));
  const ink = useAsked<Ink>(passage, (signal) => get("ink", { passage }, signal));
  const credits = useAsked<{ credits: string }>("suras", () => once("suras"));
  useEffect(() => { if (reading.value) remember("passage", reading.value.passage); }, [reading.value]);

  const visit = useCallback((next: string, query: Query, replace = false) => {
    const text = Object.entries(query).filter(([, value]) => value).map(([name, value]) => `${name}=${String(value)}`).join("&");
    go(`/text/${next}${text ? `?${text}` : ""}`, replace);
  }, []);
  // Stops belong to their passage; how long things are read goes along.
  const open = (next: string) => visit(next, { ...how, stops: /^\d/.test(String(how.stops ?? "")) ? null : how.stops });
  const toggleStop = (word: number) => {
    const words = reading.value!.words;
    const stops = words.filter((one, n) => n + 1 < words.length && (one.seam === "stop") !== (n === word)).map((one) => one.at);
    visit(passage, { ...how, stops: stops.length ? stops.join(",") : "none" }, true);
  };
  const onSheet = useMemo(() => new Map(rules?.rules.map((rule) => [rule.rule, rule])), [rules]);
  const shown = useCallback((name: string) => {
    const rule = onSheet.get(name);
    return !!rule && families.has(rule.family) && (plain || rule.on_sheet);
  }, [onSheet, families, plain]);
  const setShown = (next: Set<string>) => { setFamilies(next); remember("families", [...next].join(" ")); };

  const stops = String(how.stops ?? "verses");
  const now = reading.value;
  return <div class={chosen ? "text-screen telling" : "text-screen"}>
    <h1 class="unseen">{t("text")}</h1>
    <Chooser passage={passage} open={open} />
    <div class="settings">
      <details class="marks-choice" open={innerWidth >= 700}><summary>{t("marks")}</summary>
      <fieldset class="families"><legend class="unseen">{t("marks")}</legend>
        {rules?.families.map((family) => <label key={family.family} class="family">
          <input type="checkbox" checked={families.has(family.family)} onChange={() => {
            const next = new Set(families);
            if (!next.delete(family.family)) next.add(family.family);
            setShown(next);
          }} />
          <i class="swatch" style={{ background: `var(--ink-${family.family})` }} />{in_lang(family, "name")}</label>)}
        <button type="button" class="quiet" onClick={() => setShown(new Set(rules?.families.map((family) => family.family)))}>{t("all")}</button>
        <button type="button" class="quiet" onClick={() => setShown(new Set())}>{t("none")}</button>
        <label class="family"><input type="checkbox" checked={plain} onChange={() => setPlain(!plain)} />{t("all_marks")}</label>
      </fieldset></details>
      <details class="how"><summary>{t("how")}</summary>
        <div class="row">
          <label>{t("stops")}
            <select value={/^\d/.test(stops) ? "own" : stops} onChange={(event) => visit(passage, { ...how, stops: event.currentTarget.value }, true)}>
              <option value="verses">{t("at_verses")}</option>
              <option value="signs">{t("at_signs")}</option>
              <option value="none">{t("no_stops")}</option>
              {/^\d/.test(stops) && <option value="own">{t("own_stops")}</option>}
            </select>
          </label>
          {lengths.map(([name, choices]) => <label key={name}>{t(name)}
            <select value={String(how[name] ?? now?.how[name] ?? 4)} onChange={(event) => visit(passage, { ...how, [name]: event.currentTarget.value }, true)}>
              {choices.map((count) => <option key={count} value={count}>{count}</option>)}
            </select></label>)}
        </div>
      </details>
    </div>
    <div class="reading">
      <section class="leaf" aria-label={t("passage")} aria-busy={!reading.fresh}>
        {now && <h2 dir="auto">{now.title}</h2>}
        {reading.trouble && <p role="alert" class="trouble">{reading.trouble}</p>}
        {!now && !reading.trouble && <p role="status">{t("waiting")}</p>}
        {now && rules && <Passage reading={now} ink={ink.value} rules={rules} shown={shown} chosen={chosen} choose={setChosen} toggleStop={toggleStop} />}
        {now && <p class="leaf-foot">
          <a href={address("sheet.pdf", { passage: now.passage, ...how, labels: lang })} download>{t("sheet")}</a>
          <button type="button" class="quiet" onClick={() => window.print()}>{t("print")}</button></p>}
      </section>
      {now && chosen && now.words[chosen.word] && <Explain reading={now} chosen={chosen} how={how} choose={setChosen} />}
    </div>
    <p class="note keys">{t("keys")}</p>
    <p class="note credits" lang="en" dir="ltr">{credits.value?.credits}</p>
  </div>;
}
