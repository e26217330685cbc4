// How it goes, rule by rule, in words: nothing to be ashamed of, nothing to collect.
import { get } from "../api";
import { useAsked, useDesk, useWords } from "../desk";
import { standing, type Known } from "../progress/standing";
import { mineWords } from "./words";

export function Going() {
  const t = useWords(mineWords);
  const { in_lang } = useDesk();
  const found = useAsked<{ rules: Known[] }>("mine", (signal) => get("mine/progress", {}, signal)).value;
  if (!found?.rules?.length) return null;
  return <section aria-labelledby="going"><h2 id="going">{t("my_progress")}</h2>
    <ul class="going">{found.rules.map((rule) => <li key={rule.rule}>
      <i class="swatch" style={{ background: `var(--ink-${rule.family})` }} /><span>{in_lang(rule, "name")}</span>
      <span class="faint">{t(standing(rule))}</span></li>)}</ul></section>;
}
