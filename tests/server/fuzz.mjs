// fuzz.mjs – random bodies, headers, paths and bytes at every route of data/openapi.json, each at
// least once. The desk neither ends nor answers 5xx other than 501 and 503, and these only where they
// are declared. FUZZ_SECONDS (10) and SEED set how long and which.
import http from "node:http";
import net from "node:net";
import { ask, check, equal, finish, folder, openapi, opened, stop } from "./desk.mjs";
import { agrees, begins, handsIn, made, person } from "./class.mjs";

const seconds = Number(process.env.FUZZ_SECONDS ?? 10);
const seed = Number(process.env.SEED ?? 20261125);
let state = seed >>> 0;
const random = (n) => ((state = (Math.imul(state, 1664525) + 1013904223) >>> 0) >>> 8) % n;
const one = (list) => list[random(list.length)];
const api = openapi();
const described = Object.entries(api.paths).flatMap(([path, methods]) =>
  Object.entries(methods).map(([method, operation]) => ({ path, method: method.toUpperCase(), operation })));
// Those that would end the session or never end themselves come last, in their own way.
const own_way = ["/api/session", "/api/passphrase", "/api/events"];
const routes = described.filter((r) => !own_way.includes(r.path));
const asked = new Set();

const oddities = ["", "0", "-1", "1", "2", "67", "67:1-5", "67:1:1:1", "78:40", "112", "0:0", "999:999", "99999999999999999999", "1e9", "NaN", "true", "null",
  "\u0000", "\ud800", "ٱلرَّحۡمَٰنِ", "الملك ١-٥", "../..", "%2e%2e", "'; DROP TABLE take; --", "<script>", "a".repeat(3000), "ikhfa", "ikhfa,qalqala",
  "all", "juz 30", "en", "ar", "verses", "67:1:3,67:2:4", "0,1,2,3,4", "ك,ق", "🕌", "\r\nX-A: b", "67:1-", "67:5-1", "𐀀", "﷽", "\uFFFD"];
const word = () => (random(4) ? one(oddities) : String.fromCodePoint(...Array.from({ length: random(12) }, () => [32 + random(90), 0x620 + random(90), random(0xd7ff)][random(3)])));
function value(depth = 0) {
  switch (random(depth > 3 ? 5 : 8)) {
    case 0: return null;
    case 1: return random(2) === 1;
    case 2: return random(1000) - 500;
    case 3: return Math.pow(10, random(40) - 10) * (random(3) - 1);
    case 4: return word();
    case 5: return Array.from({ length: random(5) }, () => value(depth + 1));
    default: return Object.fromEntries(Array.from({ length: random(6) }, () => [random(2) ? one(members) : word(), value(depth + 1)]));
  }
}
const members = ["text", "revision", "settings", "at", "what", "note", "who", "rule", "pins", "sound", "ms", "name", "takes", "from", "first", "second",
  "passage", "how", "chosen", "voice", "keep_voice", "model", "undone", "make", "take", "stops", "arid", "title", "stage", "stages", "label", "role",
  "language", "retention_days", "consent", "closed", "left", "by", "days", "rules", "attend", "due_ms", "withdrawn", "assignment", "type", "bytes", "marks", "code"];

function query(operation) {
  const given = (operation.parameters ?? []).filter((p) => p.in === "query" && p.example !== undefined);
  if (given.length && random(3) === 0) return `?${given.map((p) => `${p.name}=${encode(String(p.example))}`).join("&")}`;
  const names = (operation.parameters ?? []).map((p) => p.name ?? p.$ref.split("/").pop());
  const parts = names.filter(() => random(3) === 0).map((name) => `${name}=${encode(word())}`);
  if (names.includes("passage") && random(2)) parts.push("passage=" + one(["67:1-5", "112", "78:1-10"]));
  if (random(8) === 0) parts.push(`${encode(word())}=${encode(word())}`);
  return parts.length ? `?${parts.join("&")}` : "";
}
function encode(text) {
  try { return encodeURIComponent(text); } catch { return "%ed%a0%80"; }
}
function body(operation) {
  const described = operation.requestBody?.content;
  if (!described) return random(6) ? undefined : "surprise";
  if (described["audio/*"]) return Buffer.from(Array.from({ length: 1 + random(400) }, () => random(256)));
  const example = described["application/json"].example;
  if (example && random(3) === 0) return example; // so that there are things to go wrong with
  if (random(5) === 0) return JSON.stringify(value()).slice(0, random(60));
  if (example && random(2)) return { ...example, [one([...Object.keys(example), ...members])]: value() };
  return value() ?? {};
}

const ids = { take: [], job: [], lesson: [], hearing: [], name: ["teacher"], file: ["sheet.pdf", "x"], class: [], person: [], assignment: [], submission: [], upload: [], note: [] };
const desk = await opened(folder(), ["--quiet"]);
// Something to work on.
ids.lesson.push((await ask(desk, "POST", "/api/lessons", { body: { text: "# x\n" } })).json.id);
ids.hearing.push((await ask(desk, "POST", "/api/hearings", { body: { at: "67:1:1", what: "x" } })).json.id);
// A class, asked about by its teacher, an assistant and a learner.
ids.class.push((await made(desk, "/api/classes", { name: "x" })).id);
ids.assignment.push((await made(desk, `/api/classes/${ids.class[0]}/assignments`, { passage: "112" })).id);
const learner = await person(desk, ids.class[0], "one"), assistant = await person(desk, ids.class[0], "two", "assistant");
ids.person.push(learner.id, assistant.id);
await agrees(learner);
ids.submission.push((await handsIn(learner, ids.assignment[0])).id);
ids.upload.push(await begins(learner, ids.assignment[0], 900), ids.submission[0]);
// Those who ask stay in their class, and it keeps its words.
const stays = [ids.class[0], learner.id, assistant.id];
const asker = (path) => path.startsWith("/api/mine") ? (random(5) ? learner : one([desk, assistant])) : random(4) ? desk : one([learner, assistant]);
const statuses = {};
let ended = false;
desk.ended.catch(() => {}).then(() => (ended = true));

async function describedRequest({ path, method, operation }) {
  const known = (name) => (ids[name] ??= []);
  const url = path.replace(/\{(\w+)\}/g, (_, name) => encode(random(3) && known(name).length ? one(known(name)) : word()) || "x") + query(operation);
  if (["DELETE", "PATCH"].includes(method) && stays.some((id) => url.includes(id))) return;
  asked.add(`${method} ${path}`);
  const headers = {};
  if (random(6) === 0) headers[one(["range", "if-none-match", "accept-encoding", "origin", "x-forwarded-for", "content-type", "expect", "cookie"])] =
    one(["bytes=0-", "bytes=5-2", "bytes=-0", "bytes=99999999999999999999-", "*", "gzip;q=0", "application/json", "100-continue", "a=b; mistara=c", "x".repeat(2000)]);
  const before = state;
  const answer = await ask(asker(path), method, url, { body: body(operation), headers }).catch((error) => ({ error: error.code }));
  if (path === "/api/mine/consent" && method === "DELETE") await agrees(learner).catch(() => {}); // or it was too quick
  if (answer.error) { statuses[answer.error] = (statuses[answer.error] ?? 0) + 1; return; }
  statuses[answer.status] = (statuses[answer.status] ?? 0) + 1;
  check(answer.status < 500 || ([501, 503].includes(answer.status) && String(answer.status) in operation.responses), `seed ${seed}, state ${before}: ${method} ${url} → ${answer.status} ${answer.text.slice(0, 200)}`);
  if (answer.status >= 400 && method !== "HEAD") check(typeof answer.json?.error?.message === "string", `${method} ${url}: no sentence`);
  if ((answer.status === 201 || answer.status === 202) && answer.json?.id) {
    const kind = { people: "person", classes: "class" }[path.split("/").pop()] ?? path.split("/").pop().replace(/s$/, "");
    const list = answer.json.kind ? ids.job : ids[kind];
    if (list && list.length < 20) list.push(answer.json.id);
  }
  if (answer.status === 201 && answer.json?.upload && ids.upload.length < 20) ids.upload.push(answer.json.upload);
}
function rawRequest() {
  return new Promise((resolve) => {
    const socket = net.connect(desk.port, desk.host, () => {
      const lines = [`${one(["GET", "POST", "\u0001", "PUT", "A".repeat(random(3000))])} ${one(["/", "*", "//", "/api/takes", "http://x/", word()])} HTTP/${one(["1.1", "1.0", "9.9", "2", ""])}`];
      if (random(3)) lines.push("Host: localhost");
      for (let n = random(12); n > 0; n--) lines.push(`${one(["Content-Length", "Transfer-Encoding", "Cookie", "X", "Connection", word()])}: ${one(["0", "5", "-1", "chunked", "close", "keep-alive", word(), "9".repeat(30)])}`);
      socket.end(Buffer.from(lines.join(one(["\r\n", "\n", "\r\n "])) + "\r\n\r\n" + word() + "\r\n", random(2) ? "utf8" : "latin1"));
    });
    socket.on("error", resolve);
    socket.on("close", resolve);
    socket.resume();
    setTimeout(() => socket.destroy(), 300);
  });
}

let count = 0;
for (const route of routes)
  for (let tries = 0; tries < 50 && !asked.has(`${route.method} ${route.path}`); tries++, count++) await describedRequest(route);
const until = Date.now() + seconds * 1000;
while (Date.now() < until && !ended) {
  await Promise.all(Array.from({ length: 4 }, () => (random(5) ? describedRequest(one(routes)) : rawRequest())));
  count += 4;
}
// Streams begun and broken off, some with a line in the middle of a header.
for (let n = 0; n < 6 && !ended; n++) {
  await new Promise((resolve) => {
    const stream = http.get({ host: desk.host, port: desk.port, path: `/api/events${n % 2 ? `?${encode(word())}=1` : ""}`,
      headers: { cookie: desk.cookie, "last-event-id": encode(word()).slice(0, 200) } }, (answer) => {
      check(answer.statusCode < 500, `a stream → ${answer.statusCode}`);
      answer.on("error", () => {});
      answer.once("data", () => stream.destroy());
      answer.once("end", resolve);
      answer.once("close", resolve);
    });
    stream.on("error", resolve);
  });
  asked.add("GET /api/events");
}
// Signing in and passphrases of every kind, out of the session at the end.
for (const route of described.filter((r) => ["/api/session", "/api/passphrase"].includes(r.path) && r.method !== "DELETE"))
  for (let n = 0; n < 8 && !ended; n++) await describedRequest(route);
await describedRequest(described.find((r) => r.path === "/api/session" && r.method === "DELETE"));
equal(described.map((r) => `${r.method} ${r.path}`).filter((name) => !asked.has(name)), [], "every route was asked");
check(!ended, `the desk ended: ${desk.err.slice(-2000)}`);
if (!ended) check((await ask(desk, "GET", "/healthz")).status === 200, "the desk is well");
if (!ended) { // with sanitizers a leak shows in how it ends
  const { code } = await stop(desk);
  check(code === 0, `it ends with ${code}: ${desk.err.slice(-3000)}`);
}
check(!/runtime error|AddressSanitizer/.test(desk.err), desk.err.slice(-3000));
console.log(`seed ${seed}: ${count} requests`, statuses);
finish("fuzz");
