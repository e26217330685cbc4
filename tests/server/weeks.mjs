// weeks.mjs – a class over weeks: LEARNERS hand in every week what they were given, as a sound in
// which some holds are let go early. Which rules each is weak in is planted: there a hold fails four
// times in five in the first week and a little less often each week (power law of practice, Newell &
// Rosenbloom 1981), elsewhere once in twenty. What the desk says in the end of who is weak in what is
// held against what was planted. The learners are not made by the model that is fitted (know.h).
// The sounds are tones; where MISTARA_AUDIO names a folder of recitations, they are those, altered
// (alter.mjs), the teacher's take being the recitation itself.
//   node weeks.mjs [LEARNERS [WEEKS]]      (30 and 2)
import { ask, check, equal, finish, folder, jobEnd, opened, stop } from "./desk.mjs";
import { agrees, handsIn, made, person } from "./class.mjs";
import { recited, shortened, wav } from "./alter.mjs";
import { buzz } from "./buzz.mjs";
import { agreement, holds, rulesHeld, rulesTold } from "./planted.mjs";

const LEARNERS = Number(process.argv[2] ?? 30), WEEKS = Number(process.argv[3] ?? 2);
const passages = ["78:1-16", "78:17-30", "67:1-5", "67:6-11", "78:31-40", "67:12-18"];
let state = 20261125;
const chance = () => (state = (Math.imul(state, 1664525) + 1013904223) >>> 0) / 2 ** 32;
const desk = await opened(folder(), ["--quiet", "--workers=2"]), trial = folder();
const voices = Boolean(process.env.MISTARA_AUDIO);
const get = async (url) => {
  const answer = await ask(desk, "GET", url);
  if (answer.status !== 200) throw new Error(`${url} → ${answer.status}: ${answer.text}`);
  return answer.json;
};
const began = Date.now();

const evening = (await made(desk, "/api/classes", { name: "Weekly evening class" })).id;
const learners = [];
for (let n = 0; n < LEARNERS; n++) {
  const who = await person(desk, evening, `Learner ${n + 1}`);
  await agrees(who);
  learners.push(who);
}
// The rules whose holds can be let go early and which every week's passage holds several times.
const readings = [];
for (let week = 0; week < WEEKS; week++) readings.push(await get(`/api/reading?passage=${passages[week % passages.length]}&no_basmala=${Number(voices)}`));
const rules = rulesHeld(readings, 2 * WEEKS);
check(rules.length >= 3, `rules to be weak in: ${rules}`);
for (const who of learners) {
  who.weak = rules.filter(() => chance() < 0.3);
  who.speed = 0.92 + 0.2 * chance();
}

/* --- the weeks ------------------------------------------------------------------------------- */
let submissions = 0;
for (let week = 0; week < WEEKS; week++) {
  const passage = passages[week % passages.length];
  let reading = readings[week];
  const sample = voices ? recited(passage, trial) : null;
  const take = await ask(desk, "POST", `/api/takes?passage=${passage}&listen=1`, { body: voices ? wav(sample, { seed: week }) : buzz(reading, { seed: 1000 + week }) });
  equal((await jobEnd(desk, take.json.job)).state, "done", `week ${week + 1}: the teacher's take`);
  if (week === 0) equal((await jobEnd(desk, (await ask(desk, "POST", "/api/voices", { body: { name: "teacher", takes: [take.json.id] } })).json.id)).state, "done", "the voice");
  await ask(desk, "PATCH", `/api/takes/${take.json.id}`, { body: { voice: "teacher" } });
  const report = voices ? await get(`/api/takes/${take.json.id}/report`) : null, heard = report?.sounds;
  if (voices) { // a reciter may stop within a verse
    reading = await get(`/api/reading?passage=${passage}&no_basmala=1&stops=${report.pauses.filter((pause) => pause.after).map((pause) => pause.after)}`);
    equal(heard.length, reading.sounds.length, `week ${week + 1}: the sounds of the recitation are those of the reading`);
  }
  const given = (await made(desk, `/api/classes/${evening}/assignments`, { passage, take: take.json.id })).id;
  for (const [n, who] of learners.entries()) {
    const fails = (rule) => chance() < (who.weak.includes(rule) ? 0.8 * (week + 1) ** -0.2 : 0.05);
    const sounds = [...reading.sounds];
    for (const { n: at, rule } of holds(reading)) if (fails(rule)) sounds[at] = { ...sounds[at], share: 0.4 + 0.15 * chance() };
    await handsIn(who, given, voices
      ? wav(shortened(sample, heard.map((sound, at) => ({ ...sound, share: sounds[at].share }))), { speed: who.speed, seed: week * 1000 + n })
      : buzz({ ...reading, sounds }, { seed: week * 1000 + n }));
    submissions++;
  }
  for (let n = 0; ; n++) {
    const rows = (await get(`/api/classes/${evening}/desk`)).submissions;
    const open = rows.filter((row) => ["received", "listening"].includes(row.state));
    rows.filter((row) => row.state === "refused").forEach((row) => check(false, `refused: ${row.problem}`));
    if (!open.length) break;
    await new Promise((wake) => setTimeout(wake, 200));
  }
}

/* --- who is weak in what ------------------------------------------------------------------------- */
for (const who of learners) who.told = rulesTold(await get(`/api/people/${who.id}/progress`), rules);
const { planted, told, hit, precision, recall } = agreement(learners);
const seconds = (Date.now() - began) / 1000;
console.log(`${LEARNERS} learners, ${WEEKS} weeks, ${submissions} recordings in ${seconds.toFixed(0)} s: ` +
  `${planted} planted, ${told} told, ${hit} of them planted: precision ${precision.toFixed(2)}, recall ${recall.toFixed(2)}`);
check(precision >= 0.8, `precision ${precision}`);
check(recall >= 0.8, `recall ${recall}`);
await stop(desk);
finish("weeks");
