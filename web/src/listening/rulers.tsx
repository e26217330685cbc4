// What was wanted above what was heard, on one scale: a line with a tick for each count; the dotted
// end is how far the measure may be out.
import { useDesk } from "../desk";
import { counted } from "../words";

export interface Lengths {
  expected_counts: number | null; measured_counts: number | null; counts_low: number | null; counts_high: number | null; told: string;
}
const count_px = 26, least = 2;

export function Rulers(props: { site: Lengths; names: [string, string] }) {
  const { t, lang } = useDesk();
  const { site } = props;
  if (site.expected_counts === null && site.measured_counts === null) return null;
  const most = Math.max(least, site.expected_counts ?? 0, site.measured_counts ?? 0, site.counts_high ?? 0);
  const line = (counts: number | null, low: number | null, high: number | null) => {
    const from = Math.min(low ?? counts ?? 0, counts ?? 0), to = Math.max(high ?? counts ?? 0, counts ?? 0);
    return <svg aria-hidden="true" viewBox={`0 0 ${most * count_px + 6} 20`} width={most * count_px + 6} height="20">
      {counts !== null && <path class="drawn" stroke-width="2.4" d={`M3 6H${3 + (low === null ? counts : from) * count_px}`} />}
      {counts !== null && Array.from({ length: Math.floor(counts + 0.25) }, (_, n) =>
        <path key={n} class="drawn" stroke-width="2.4" d={`M${3 + (n + 0.5) * count_px} 6v9`} />)}
      {low !== null && to > from && <path class="drawn" stroke-width="2.4" stroke-dasharray="0 5" d={`M${3 + from * count_px + 4} 6H${3 + to * count_px}`} />}
      {low !== null && counts !== null && <path class="drawn" stroke-width="1.6" d={`M${3 + counts * count_px} 1v10`} />}
    </svg>;
  };
  const figure = (counts: number | null) => counts === null ? t("not_measured") : counted(lang, Math.round(counts * 10) / 10, "counts");
  return <dl class={`rulers told-${site.told}`}>
    <div><dt>{props.names[0]}</dt><dd>{line(site.expected_counts, null, null)}<span>{site.expected_counts === null ? "–" : figure(site.expected_counts)}</span></dd></div>
    <div class="heard"><dt>{props.names[1]}</dt><dd>{line(site.measured_counts, site.counts_low, site.counts_high)}<span>{figure(site.measured_counts)}</span></dd></div>
  </dl>;
}
