// Text: any passage, its marks, its stops, and what is read at each letter.
import { useCallback, useEffect, useLayoutEffect, useMemo, useRef, useState } from "preact/hooks";
import { address, ahead, drawn, get, here, lengthChoices, once, type Ink, type Query, type Reading, type Rules } from "../api";
import { go, remember, remembered, useAsked, useDesk, type Place } from "../desk";
import { Chooser } from "./chooser";
import { Explain } from "./explain";
import { Passage, type Chosen } from "./passage";

export const firstFamilies = ["length", "nasal", "merge", "turn", "hide", "echo"];

export function TextScreen({ place }: { place: Place }) {
  const { t, lang, in_lang } = useDesk();
  const passage = place.path[1] ?? place.query.get("passage") ?? remembered("passage") ?? "67:1-5";
  const how = useMemo(() => {
    const query: Query = {};
    for (const [name, value] of place.query) query[name] = value;
    delete query.passage; // not how, but what
    return query;
  }, [place.query.toString()]);
  const [rules, setRules] = useState<Rules | null>(() => here<Rules>("rules"));
  const [families, setFamilies] = useState<Set<string>>(() => new Set(remembered("families")?.split(" ").filter(Boolean)
    ?? firstFamilies));
  const [plain, setPlain] = useState(false);
  const [chosen, setChosen] = useState<Chosen | null>(null);
  useEffect(() => { if (!rules) once<Rules>("rules").then(setRules, () => {}); }, []);
  useLayoutEffect(() => setChosen(null), [passage]);
  const key = `${passage}?${place.query}&${lang}`;
  const reading = useAsked<Reading>(key, (signal) => get("reading", drawn({ passage, ...how, lang }), signal),
    () => here("reading", drawn({ passage, ...how, lang })));
  const ink = useAsked<Ink>(passage, (signal) => get("ink", { passage }, signal), () => here("ink", { passage }));
  const credits = useAsked<{ credits: string }>("suras", () => once("suras"), () => here("suras"));
  useEffect(() => { if (reading.value) remember("passage", reading.value.passage); }, [reading.value]);

  const visit = useCallback((next: string, query: Query, replace = false) => {
    const text = Object.entries(query).filter(([, value]) => value).map(([name, value]) => `${name}=${String(value)}`).join("&");
    go(`/text/${next}${text ? `?${text}` : ""}`, replace);
  }, []);
  // Stops belong to their passage; how long things are read goes along.
  const open = (next: string) => visit(next, { ...how, stops: /^\d/.test(String(how.stops ?? "")) ? null : how.stops });
  const withStop = (word: number): Query => {
    const words = reading.value!.words;
    const stops = words.filter((one, n) => n + 1 < words.length && (one.seam === "stop") !== (n === word)).map((one) => one.at);
    return { ...how, stops: stops.length ? stops.join(",") : "none" };
  };
  const toggleStop = (word: number) => visit(passage, withStop(word), true);
  // The answer to a click is asked for while the hand is still on its way.
  const near = ({ word, letter }: Chosen) => ahead("explain", { at: letter === null ? now!.words[word]!.at : now!.letters[letter]!.at, ...how });
  const nearStop = (word: number) => { if (reading.fresh) ahead("reading", drawn({ passage, ...withStop(word), lang })); };
  const to = useRef(open);
  to.current = open;
  const chooser = useMemo(() => <Chooser passage={passage} open={(next) => to.current(next)} />, [passage, lang]);
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
    {chooser}
    <div class="settings">
      <details class="marks-choice" open={innerWidth >= 700}><summary>{t("marks")}</summary>
      <fieldset class="families"><legend class="unseen">{t("marks")}</legend>
        {rules?.families.map((family) => <label key={family.family} class="family">
          <input type="checkbox" checked={families.has(family.family)} onChange={() => {
            const next = new Set(families);
            if (!next.delete(family.family)) next.add(family.family);
            setShown(next);
          }} />
          <i class={`swatch of-${family.family}`} />{in_lang(family, "name")}</label>)}
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
          {lengthChoices(rules).map(({ name, counts }) => <label key={name}>{t(name)}
            <select value={String(how[name] ?? now?.how[name] ?? "")} onChange={(event) => visit(passage, { ...how, [name]: event.currentTarget.value }, true)}>
              {counts.map((count) => <option key={count} value={count}>{count}</option>)}
            </select></label>)}
        </div>
      </details>
    </div>
    <div class="reading">
      <section class="leaf" aria-label={t("passage")} aria-busy={!reading.fresh}>
        {now && <h2 dir="auto">{now.title}</h2>}
        {reading.trouble && <p role="alert" class="trouble">{reading.trouble}</p>}
        {!now && !reading.trouble && <p role="status">{t("waiting")}</p>}
        {now && rules && <Passage reading={now} ink={ink.value} rules={rules} shown={shown} chosen={chosen} choose={setChosen} toggleStop={toggleStop} near={near} nearStop={nearStop} />}
        {now && <p class="leaf-foot">
          <a href={address("sheet.pdf", { passage: now.passage, ...how, labels: lang })} download="">{t("sheet")}</a>
          <button type="button" class="quiet" onClick={() => window.print()}>{t("print")}</button></p>}
      </section>
      {now && chosen && now.words[chosen.word] ? <Explain reading={now} chosen={chosen} how={how} choose={setChosen} toggleStop={toggleStop} />
        : <p class="note keys">{t("keys")}</p>}
    </div>
    <p class="note credits" lang="en" dir="ltr">{credits.value?.credits}</p>
  </div>;
}
