// class_load.mjs – a class hands in at once: everyone comes in with a card, agrees, sends a recording
// part by part and hands it in, all at the same time through one address. A measurement
// (docs/measurements.md); whatever is lost fails it. LEARNERS (30) says how many.
import { createHash } from "node:crypto";
import { readFileSync } from "node:fs";
import { ask, bursts, check, finish, folder, opened, stop } from "./desk.mjs";
import { agrees, begins, made, part, person } from "./class.mjs";

const learners = Number(process.env.LEARNERS ?? 30), piece = 192 * 1024;
const desk = await opened(folder(), ["--quiet"]);
const of = (await made(desk, "/api/classes", { name: "x" })).id;
const assignment = (await made(desk, `/api/classes/${of}/assignments`, { passage: "78:31-40" })).id;
const hash = (bytes) => createHash("sha256").update(bytes).digest("hex");
const quantile = (times, q) => times.sort((a, b) => a - b)[Math.min(times.length - 1, Math.floor(q * times.length))].toFixed(0);
function spent() {
  const fields = readFileSync(`/proc/${desk.child.pid}/stat`, "utf8").split(") ")[1].split(" ");
  return (Number(fields[11]) + Number(fields[12])) * 10;
}
const class_ = [];
for (let n = 0; n < learners; n++) {
  class_.push(await person(desk, of, `Learner ${n}`));
  await agrees(class_[n]);
}
const parts = [], whole = [], before = spent(), began = performance.now();
await Promise.all(class_.map(async (learner, n) => {
  const sound = bursts(40, n + 1), from = performance.now();
  const upload = await begins(learner, assignment, sound.length);
  for (let at = 0; at < sound.length; at += piece) {
    const since = performance.now();
    const answer = await part(learner, upload, at, sound.subarray(at, at + piece));
    check(answer.status === 200, `a part is refused: ${answer.text}`);
    parts.push(performance.now() - since);
  }
  const answer = await made(learner, `/api/mine/uploads/${upload}/submit`, {});
  whole.push(performance.now() - from);
  const back = await ask(learner, "GET", `/api/mine/submissions/${answer.id}/audio`);
  check(hash(back.raw) === hash(sound), "a recording came back other than it was sent");
}));
const seconds = (performance.now() - began) / 1000;
console.log(`${learners} learners at once, ${(bursts(40).length / 1e6).toFixed(1)} MB each in parts of 192 KiB: all in after ${seconds.toFixed(1)} s; `
  + `a part: median ${quantile(parts, 0.5)} ms, p99 ${quantile(parts, 0.99)} ms; handed in after: median ${quantile(whole, 0.5)} ms, longest ${quantile(whole, 1)} ms; `
  + `${((spent() - before) / learners).toFixed(0)} ms of processor time a learner`);
const times = [], asked = spent();
for (let n = 0; n < 200; n++) {
  const since = performance.now();
  check((await ask(class_[n % learners], "GET", "/api/mine")).status === 200, "a page is refused");
  times.push(performance.now() - since);
}
console.log(`a learner's page: median ${quantile(times, 0.5)} ms, p99 ${quantile(times, 0.99)} ms, ${((spent() - asked) / 200).toFixed(1)} ms of processor time`);
await stop(desk);
finish("class_load");
