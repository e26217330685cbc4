// load.mjs – 200 readers of the text screen's API at once, and 20 uploads at once: how long answers
// take, and whether any is wrong. A measurement (docs/measurements.md); errors fail it.
import http from "node:http";
import { readFileSync } from "node:fs";
import { ask, bursts, check, finish, folder, opened, stop } from "./desk.mjs";

const readers = Number(process.env.READERS ?? 200), rounds = Number(process.env.ROUNDS ?? 10);
const desk = await opened(folder(), ["--quiet"]);
const urls = ["/api/reading?passage=78:1-40", "/api/ink?passage=78:1-40", "/api/explain?at=78:12:3:2", "/api/verses?passage=78:1-40&with=en",
  "/api/reading?passage=67:1-5&stops=signs", "/api/passage?q=al-Mulk%201-5"];
const quantile = (sorted, q) => sorted[Math.min(sorted.length - 1, Math.floor(q * sorted.length))];
function told(name, times) {
  times.sort((a, b) => a - b);
  console.log(`${name}: ${times.length} answers, median ${quantile(times, 0.5).toFixed(1)} ms, p99 ${quantile(times, 0.99).toFixed(1)} ms, longest ${times.at(-1).toFixed(1)} ms`);
}
// Processor time of the desk so far, in ms: on a busy machine the clock proves little.
function spent() {
  const fields = readFileSync(`/proc/${desk.child.pid}/stat`, "utf8").split(") ")[1].split(" ");
  return (Number(fields[11]) + Number(fields[12])) * 10;
}
async function timed(work) {
  const began = performance.now();
  await work();
  return performance.now() - began;
}

for (const url of urls) {
  const times = [];
  await ask(desk, "GET", url);
  const before = spent();
  for (let n = 0; n < 100; n++) times.push(await timed(() => ask(desk, "GET", url)));
  told(`alone ${url}`, times);
  console.log(`    ${((spent() - before) / 100).toFixed(1)} ms of processor time each`);
}
const agents = Array.from({ length: readers }, () => new http.Agent({ keepAlive: true, maxSockets: 1 }));
let errors = 0;
const times = [];
const began = performance.now(), before = spent();
await Promise.all(agents.map(async (agent, reader) => {
  for (let n = 0; n < rounds; n++)
    times.push(await timed(async () => {
      const answer = await ask(desk, "GET", urls[(reader + n) % urls.length], { agent }).catch(() => ({ status: 0 }));
      errors += answer.status !== 200;
    }));
}));
const lasted = (performance.now() - began) / 1000;
told(`${readers} readers at once`, times);
console.log(`${(times.length / lasted).toFixed(0)} answers a second, ${errors} errors, ${((spent() - before) / times.length).toFixed(1)} ms of processor time each`);
check(errors === 0, `${errors} errors among the readers`);

const uploads = [];
let lost = 0;
const sounds = Array.from({ length: 20 }, (_, n) => bursts(60, n + 1));
await Promise.all(sounds.map(async (sound) => {
  uploads.push(await timed(async () => {
    const answer = await ask(desk, "POST", "/api/takes?passage=78:1-16", { body: sound }).catch(() => ({ status: 0 }));
    lost += answer.status !== 201;
  }));
}));
told(`20 uploads of ${(sounds[0].length / 1e6).toFixed(1)} MB at once`, uploads);
check(lost === 0, `${lost} uploads lost`);
check((await ask(desk, "GET", "/api/takes")).json.takes.length === 20, "twenty takes");
agents.forEach((agent) => agent.destroy());
await stop(desk);
finish("load");
