// listening_cost.mjs – what it costs to listen to what a learner handed in, from the sound as sent to
// the places on the teacher's desk: processor time (the decoder's too) over the length of the sound.
// A measurement for the sizing table of docs/school.md; needs MISTARA_AUDIO.
import { readFileSync } from "node:fs";
import { ask, check, equal, finish, folder, jobEnd, opened, stop } from "./desk.mjs";
import { agrees, handsIn, made, person } from "./class.mjs";
import { recited, wav } from "./alter.mjs";

if (!process.env.MISTARA_AUDIO) {
  console.log("skipped: MISTARA_AUDIO names no folder of recitations");
  process.exit(77);
}
const passages = ["78:1-16", "67:1-5", "67:6-11", "67:12-18", "78:31-40", "78:1-40"], trial = folder();
const desk = await opened(folder(), ["--quiet"]);
function spent() {
  const fields = readFileSync(`/proc/${desk.child.pid}/stat`, "utf8").split(") ")[1].split(" ");
  return [11, 12, 13, 14].reduce((sum, n) => sum + Number(fields[n]), 0) / 100; // its own and its children's
}
const class_ = (await made(desk, "/api/classes", { name: "Evening class" })).id;
const who = await person(desk, class_, "Learner 1");
await agrees(who);
// As a class works: a teacher's take and its voice for every assignment.
let voice = false, audio = 0;
const cost = {};
for (const passage of passages) {
  const sample = recited(passage, trial);
  const take = await ask(desk, "POST", `/api/takes?passage=${passage}&no_basmala=1&listen=1`, { body: wav(sample) });
  equal((await jobEnd(desk, take.json.job)).state, "done", "the teacher's take");
  if (!voice) equal((await jobEnd(desk, (await ask(desk, "POST", "/api/voices", { body: { name: "teacher", takes: [take.json.id] } })).json.id)).state, "done", "the voice");
  voice = true;
  await ask(desk, "PATCH", `/api/takes/${take.json.id}`, { body: { voice: "teacher" } });
  const given = (await made(desk, `/api/classes/${class_}/assignments`, { passage, take: take.json.id })).id;
  // The first of an assignment also has the teacher's take measured; the others find that done.
  for (const nth of ["first", "second"]) {
    const sound = wav(sample, { seed: nth.length }), before = spent(), seconds = sample.length / 16000;
    const { id } = await handsIn(who, given, sound);
    let one;
    do {
      await new Promise((wake) => setTimeout(wake, 200));
      one = (await ask(desk, "GET", `/api/submissions/${id}`)).json;
    } while (!["heard", "refused"].includes(one.state));
    equal(one.state, "heard", `${passage}: ${one.problem}`);
    const took = spent() - before;
    console.log(`${passage}, the ${nth} one: ${seconds.toFixed(0)} s of sound, ${took.toFixed(1)} s of processor time (${(took / seconds).toFixed(3)})`);
    cost[nth] = (cost[nth] ?? 0) + took;
    if (nth === "first") audio += seconds;
  }
}
check(audio > 60, "there was something to listen to");
for (const [nth, took] of Object.entries(cost)) console.log(`the ${nth} ones: ${(took / audio).toFixed(3)} of the sound's length: ${(audio / took).toFixed(0)} hours of sound an hour and core`);
await stop(desk);
finish("listening-cost");
