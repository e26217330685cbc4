// What a plan leaves out: rules, letters and kinds, juz. The juz stand along a ruler.
import { useDesk } from "../desk";
import type { Plan } from "./plan";

export function Missing(props: { plan: Plan | null; trouble: string; waits: boolean; nameOf: (id: string) => string }) {
  const { t, in_lang, lang, counted } = useDesk();
  const { plan } = props, comma = lang === "ar" ? "، " : ", ";
  return <section class="leaf missing" aria-labelledby="missing" tabindex={0} aria-busy={props.waits}>
    <h2 id="missing">{t("missing")}</h2>
    {props.trouble && <p class="trouble">{props.trouble}</p>}
    {!plan && !props.trouble && props.waits && <p role="status">{t("plan_wait")}</p>}
    {plan && <>
      <h3>{t("juz_read")}</h3>
      <JuzRuler untouched={plan.juz_untouched} />
      <p class="faint">{plan.juz_untouched.length === 0 ? t("juz_all") : <>{t("juz_untouched")} {plan.juz_untouched.join(comma)}</>}</p>
      <p class="faint"><bdi>{plan.members_shown}</bdi> {t("of_all")} <bdi>{plan.members}</bdi> {t("kinds_shown")}</p>
      {plan.never_taught.length > 0 && <><h3>{t("never_taught")}</h3><p>{plan.never_taught.map(props.nameOf).join(comma)}</p></>}
      {plan.gaps.length > 0 && <><h3>{t("never_shown")}</h3>
        <ul class="gaps">{plan.gaps.map((one, n) => <li key={n}>{in_lang(one, "member")} <span class="faint">{t("lesson_n")} {one.lesson} · {counted(one.in_text, "places")} {t("in_the_text")}</span></li>)}</ul></>}
      {!plan.never_taught.length && !plan.gaps.length && !plan.juz_untouched.length && !plan.needs.length && <p>{t("nothing_missing")}</p>}
    </>}
  </section>;
}

// Thirty divisions; a long tick where the class reads, none where it never does.
function JuzRuler({ untouched }: { untouched: number[] }) {
  const { t } = useDesk();
  const missing = new Set(untouched), step = 10;
  return <svg class="juz" role="img" aria-label={`${t("juz_read")}: ${30 - missing.size} / 30`} viewBox={`0 0 ${30 * step + 2} 30`}>
    <path class="drawn" d={`M1 4H${30 * step + 1}`} stroke-width="1.5" />
    {Array.from({ length: 30 }, (_, n) => missing.has(n + 1)
      ? <circle key={n} cx={1 + (n + .5) * step} cy="12" r="1.5" class="filled faintly" />
      : <path key={n} class="drawn" d={`M${1 + (n + .5) * step} 4v${(n + 1) % 5 === 0 ? 14 : 9}`} stroke-width="2.5" />)}
    {[1, 5, 10, 15, 20, 25, 30].map((n) => <text key={n} x={1 + (n - .5) * step} y="29" text-anchor="middle" font-size="9">{n}</text>)}
  </svg>;
}
