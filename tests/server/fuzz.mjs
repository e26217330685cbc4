// fuzz.mjs – random bodies, headers, paths and bytes. The desk neither ends nor answers 5xx other
// than 501 and 503, which are declared. FUZZ_SECONDS (10) and SEED set how long and which.
import net from "node:net";
import { ask, check, finish, folder, openapi, opened, stop } from "./desk.mjs";

const seconds = Number(process.env.FUZZ_SECONDS ?? 10);
const seed = Number(process.env.SEED ?? 20261125);
let state = seed >>> 0;
const random = (n) => ((state = (Math.imul(state, 1664525) + 1013904223) >>> 0) >>> 8) % n;
const one = (list) => list[random(list.length)];
const api = openapi();
const routes = Object.entries(api.paths).flatMap(([path, methods]) =>
  Object.entries(methods).map(([method, operation]) => ({ path, method: method.toUpperCase(), operation })))
  .filter((r) => !["/api/session", "/api/passphrase", "/api/events"].includes(r.path));

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
  "passage", "how", "chosen", "voice", "keep_voice", "model", "undone", "make", "take", "stops", "arid", "title", "stage", "stages"];

function query(operation) {
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
  if (random(5) === 0) return JSON.stringify(value()).slice(0, random(60));
  if (example && random(2)) return { ...example, [one([...Object.keys(example), ...members])]: value() };
  return value() ?? {};
}

const ids = { take: [], job: [], lesson: [], hearing: [], name: ["teacher"], file: ["sheet.pdf", "x"] };
const desk = await opened(folder(), ["--quiet"]);
// Something to work on.
ids.lesson.push((await ask(desk, "POST", "/api/lessons", { body: { text: "# x\n" } })).json.id);
ids.hearing.push((await ask(desk, "POST", "/api/hearings", { body: { at: "67:1:1", what: "x" } })).json.id);
const statuses = {};
let ended = false;
desk.ended.catch(() => {}).then(() => (ended = true));

async function describedRequest() {
  const { path, method, operation } = one(routes);
  const url = path.replace(/\{(\w+)\}/g, (_, name) => encode(random(3) && ids[name].length ? one(ids[name]) : word()) || "x") + query(operation);
  const headers = {};
  if (random(6) === 0) headers[one(["range", "if-none-match", "accept-encoding", "origin", "x-forwarded-for", "content-type", "expect", "cookie"])] =
    one(["bytes=0-", "bytes=5-2", "bytes=-0", "bytes=99999999999999999999-", "*", "gzip;q=0", "application/json", "100-continue", "a=b; mistara=c", "x".repeat(2000)]);
  const before = state;
  const answer = await ask(desk, method, url, { body: body(operation), headers }).catch((error) => ({ error: error.code }));
  if (answer.error) { statuses[answer.error] = (statuses[answer.error] ?? 0) + 1; return; }
  statuses[answer.status] = (statuses[answer.status] ?? 0) + 1;
  check(answer.status < 500 || answer.status === 501 || answer.status === 503, `seed ${seed}, state ${before}: ${method} ${url} → ${answer.status} ${answer.text.slice(0, 200)}`);
  if (answer.status >= 400 && method !== "HEAD") check(typeof answer.json?.error?.message === "string", `${method} ${url}: no sentence`);
  if ((answer.status === 201 || answer.status === 202) && answer.json?.id) {
    const kind = path.split("/")[2].replace(/s$/, "");
    const list = answer.json.kind ? ids.job : ids[kind];
    if (list && list.length < 20) list.push(answer.json.id);
  }
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

const until = Date.now() + seconds * 1000;
let count = 0;
while (Date.now() < until && !ended) {
  await Promise.all(Array.from({ length: 4 }, () => (random(5) ? describedRequest() : rawRequest())));
  count += 4;
}
check(!ended, `the desk ended: ${desk.err.slice(-2000)}`);
if (!ended) check((await ask(desk, "GET", "/healthz")).status === 200, "the desk is well");
if (!ended) { // with sanitizers a leak shows in how it ends
  const { code } = await stop(desk);
  check(code === 0, `it ends with ${code}: ${desk.err.slice(-3000)}`);
}
check(!/runtime error|AddressSanitizer/.test(desk.err), desk.err.slice(-3000));
console.log(`seed ${seed}: ${count} requests`, statuses);
finish("fuzz");
