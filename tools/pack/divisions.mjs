// Write the divisions of the text that npm's quran-meta knows, as one JSON object of 0-based verse
// indices, for pack-text.  Usage: node divisions.mjs OUTPUT
import { writeFileSync, readFileSync } from "node:fs";
import {
  HizbQuarterList, JuzList, ManzilList, PageList, RukuList, SajdaList, meta,
} from "quran-meta/hafs";

// The lists are 1-based: item 0 is a filler, and a division's list ends in the verse after the
// last one.
const starts = (list, count) => {
  const inner = list.slice(1, -1).map((id) => id - 1);
  if (inner.length !== count || list.at(-1) !== meta.numAyahs + 1)
    throw new Error(`a list of ${inner.length} where ${count} were promised`);
  return inner;
};

// The text prints the sign of a quarter (U+06DE) at 15:49, where quran-meta 6.0.17 has 15:50; its
// 239 other starts agree with the printed signs or are heads of suras. The print is followed.
const quarterHeads = HizbQuarterList.map((id) => (id === 1852 ? 1851 : id));

const packageFile = new URL("../../node_modules/quran-meta/package.json", import.meta.url);
const divisions = {
  version: JSON.parse(readFileSync(packageFile, "utf8")).version,
  verses: meta.numAyahs,
  juz: starts(JuzList, meta.numJuzs),
  hizb_quarter: starts(quarterHeads, meta.numRubAlHizbs),
  page: starts(PageList, meta.numPages),
  ruku: starts(RukuList, meta.numRukus),
  manzil: starts(ManzilList, meta.numManzils),
  sajda: SajdaList.map((id) => id - 1),
};
writeFileSync(process.argv[2], JSON.stringify(divisions) + "\n");
