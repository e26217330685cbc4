// moment.mjs – a moment of noise, of silence, a click handed in: in none of them a sound lasts long
// enough to be known again. Each is refused with a sentence, and the desk goes on.
import { ask, bursts, check, equal, finish, folder, opened, stop } from "./desk.mjs";
import { agrees, handsIn, made, person } from "./class.mjs";
import { wavFile } from "./wav.mjs";

const desk = await opened(folder(), ["--quiet"]);
const of = (await made(desk, "/api/classes", { name: "Tuesday evening" })).id;
const given = (await made(desk, `/api/classes/${of}/assignments`, { passage: "112" })).id;
const who = await person(desk, of, "Lamp");
await agrees(who);
const samples = (seconds, of) => wavFile(Array.from({ length: seconds * 16000 }, (_, n) => of(n)));
const sounds = {
  silence: samples(1, () => 0),
  "a click": samples(1, (n) => (n === 8000 ? 30000 : 0)),
  "a hum": samples(2, (n) => 8000 * Math.sin(n / 20)),
  "a tenth of a second": samples(0.1, (n) => 8000 * Math.sin(n / 9)),
  // The first is one that a desk fell over.
  ...Object.fromEntries([636293, 7919, 112648, 217377].map((seed) => [`noise ${seed}`, bursts(1, seed)])),
};
const handed = [];
for (const [what, sound] of Object.entries(sounds)) handed.push([what, (await handsIn(who, given, sound)).id]);
for (const [what, id] of handed) {
  let one;
  do {
    await new Promise((wake) => setTimeout(wake, 50));
    one = (await ask(desk, "GET", `/api/submissions/${id}`)).json;
  } while (!["heard", "refused"].includes(one.state));
  equal(one.state, "refused", what);
  check(one.problem?.length > 20, `${what} is refused with a sentence: ${one.problem}`);
}
for (const job of (await ask(desk, "GET", "/api/jobs")).json.jobs) equal([job.kind, job.attempts], ["submission", 1], "it was listened to once");
equal((await stop(desk)).signal, null, "the desk ends in good order");
finish("moment");
