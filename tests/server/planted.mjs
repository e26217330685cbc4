// planted.mjs – what learners are made weak in, and what the desk says of it in the end.

// The sounds of a reading that are held and can be let go early, with the rule that holds them.
export const holds = (reading) => reading.sounds.map((sound, n) => ({ sound, n, rule: sound.site === null ? null : reading.sites[sound.site].rule }))
  .filter(({ sound, rule }) => rule && (sound.counts ?? 0) >= 2);

// The rules so many of whose holds are in these readings. Before a stop anyone may hold as long as
// they like, so nobody is weak in that.
export function rulesHeld(readings, least) {
  const times = {};
  for (const reading of readings) for (const { rule } of holds(reading)) times[rule] = (times[rule] ?? 0) + 1;
  return Object.keys(times).filter((rule) => times[rule] >= least && rule !== "madd_arid" && rule !== "madd_lin").sort();
}

// Of these rules, those someone is told to be weak in: several letters of a rule are weak where most of
// its places were not right.
export const rulesTold = (progress, rules) => progress.rules.filter((one) => rules.includes(one.rule) &&
  one.letters.reduce((sum, letter) => sum + letter.known * letter.heard, 0) / one.heard < 0.5).map((one) => one.rule);

// learners: [{weak, told}], lists of rules.
export function agreement(learners) {
  const count = (list) => learners.reduce((sum, who) => sum + list(who).length, 0);
  const planted = count((who) => who.weak), told = count((who) => who.told), hit = count((who) => who.told.filter((rule) => who.weak.includes(rule)));
  return { planted, told, hit, precision: told ? hit / told : 1, recall: planted ? hit / planted : 1 };
}
