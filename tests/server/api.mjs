// api.mjs – data/openapi.json against the running desk: every route of its table is described and
// the other way round; every one is tried; status, content type and members are as described. Then
// the whole of a take: sent, heard, measured, corrected, compared, deleted.
import { execFileSync } from "node:child_process";
import { ask, bursts, check, equal, finish, folder, jobEnd, openapi, opened, program, signIn, start, stop } from "./desk.mjs";
import { buzz } from "./buzz.mjs";
import { fits } from "./schema.mjs";

const api = openapi();
const described = Object.entries(api.paths).flatMap(([path, methods]) =>
  Object.keys(methods).map((method) => `${method.toUpperCase()} ${path.replace(/\{\w+\}/g, "*")}`)).sort();
const table = execFileSync(program, ["--routes"]).toString().trim().split("\n").map((line) => line.split(" "));
equal(table.map(([method, path]) => `${method} ${path}`).sort(), described, "routes and their description");
for (const [method, path, ...rest] of table) {
  const at = Object.keys(api.paths).find((p) => p.replace(/\{\w+\}/g, "*") === path);
  const operation = api.paths[at][method.toLowerCase()];
  const names = (operation.parameters ?? []).map((p) => p.name ?? p.$ref.split("/").pop())
    .filter((name) => !at.includes(`{${name}}`));
  for (const name of rest.filter((word) => !["open", "json", "sound", "how"].includes(word)))
    check(names.includes(name), `${method} ${path} does not describe ${name}`);
}

const desk = await opened(folder());

// What one route answered, held against its description. Returns the answer.
async function tried(method, path, { ids = {}, query, body, want } = {}) {
  const operation = api.paths[path][method.toLowerCase()];
  const examples = Object.fromEntries((operation.parameters ?? [])
    .filter((p) => p.in === "query" && p.example !== undefined).map((p) => [p.name, p.example]));
  const search = new URLSearchParams(query ?? examples).toString();
  const url = path.replace(/\{(\w+)\}/g, (_, name) => encodeURIComponent(ids[name] ?? "0000000000000000"));
  const sent = body ?? operation.requestBody?.content["application/json"]?.example;
  const answer = await ask(desk, method, url + (search ? `?${search}` : ""), { body: sent });
  const what = `${method} ${url}?${search}`;
  const success = Object.keys(operation.responses).find((status) => status.startsWith("2"));
  const status = String(want ?? success);
  check(String(answer.status) === status, `${what} → ${answer.status} instead of ${status}: ${answer.text.slice(0, 300)}`);
  check(status in operation.responses, `${what}: ${status} is not described`);
  let response = operation.responses[String(answer.status)];
  if (!response) return answer;
  if (response.$ref) response = api.components.responses[response.$ref.split("/").pop()];
  const [type, content] = Object.entries(response.content ?? {})[0] ?? [];
  const got = (answer.headers["content-type"] ?? "").split(";")[0];
  equal(got, type ?? "", `${what}: content type`);
  equal(answer.headers["x-content-type-options"], "nosniff", `${what}: nosniff`);
  check(/default-src 'none'/.test(answer.headers["content-security-policy"]), `${what}: no policy`);
  if (type === "application/json")
    fits(answer.json, content.schema, api).slice(0, 5).forEach((error) => check(false, `${what}: ${error}`));
  else if (type) check(answer.raw.length > 20, `${what}: nothing in it`);
  return answer;
}
const G = (path, more) => tried("GET", path, more);

await G("/healthz");
await G("/api/session");
await G("/api/suras");
await G("/api/translations");
for (const kind of ["juz", "hizb", "quarter", "page", "ruku", "manzil"]) await G("/api/divisions", { query: { kind } });
await G("/api/passage");
equal((await G("/api/passage", { query: { q: "juz 30" } })).json.parts, ["78:1-87:19", "88:1-114:6"], "a long passage in parts, at the ends of suras");
const [head, ...tail] = (await G("/api/passage", { query: { q: "all" } })).json.parts;
equal([head, tail.at(-1).endsWith("-114:6")], ["1:1-2:286", true], "and the whole text");
const juz = await G("/api/reading", { query: { passage: "juz 30" }, want: 400 });
check(/^these are 564 verses; at most 300 at a time, such as 78:1–87:19$/.test(juz.json.error.message), `what to ask for instead: ${juz.text}`);
await G("/api/reading", { query: { passage: "78:1-87:19" } });
await G("/api/verses");
await G("/api/search");
await G("/api/search", { query: { q: "رحم" } });
await G("/api/rules");
await G("/api/letters");
await G("/api/reading");
await G("/api/reading", { query: { passage: "112", lang: "ar", istiadha: 1, stops: "112:1:2" } });
await G("/api/ink");
const hidden = (await G("/api/explain", { query: { at: "67:3:4" } })).json.sites.find((one) => one.rule === "ikhfa");
check(hidden.label_ar.endsWith("حركتان") && /^[^a-zA-Z]+$/.test(hidden.source_ar), `in Arabic: ${hidden.label_ar}; ${hidden.source_ar}`);
await G("/api/explain");
await G("/api/faults", { query: { passage: "67:1-5" } });
for (const form of ["svg", "png", "pdf", "json", "txt"]) await G(`/api/sheet.${form}`);
await G("/api/find/examples");
await G("/api/find/passages");
await G("/api/find/cover");

// A reading in parts is the whole one with less in it.
const entire = (await ask(desk, "GET", "/api/reading?passage=67:1-5")).json;
equal(Object.keys(entire), ["passage", "title", "how", "words", "letters", "sites", "signs", "sounds"], "a reading is whole unless parts are asked for");
check(entire.sites.every((site) => site.reason), "with reasons");
const drawn = (await G("/api/reading", { query: { passage: "67:1-5", parts: "words,letters,sites" } })).json;
delete entire.sounds;
entire.sites.forEach((site) => delete site.reason);
equal(drawn, entire, "words, letters and sites without sounds and reasons");
await G("/api/reading", { query: { passage: "67:1-5", parts: "words,marks" }, want: 400 });

// The same question has the same answer, made once; a browser that still has it is told so.
for (const path of ["/api/reading?passage=67:1-5", "/api/ink?passage=67:1-5", "/api/suras", "/api/search?q=night&in=en"]) {
  const first = await ask(desk, "GET", path), second = await ask(desk, "GET", path);
  check(first.headers.etag && first.headers.etag === second.headers.etag && first.raw.equals(second.raw), `${path}: the same again`);
  equal(first.headers["cache-control"], "private, no-cache", `${path}: the browser asks whether it still holds`);
  const known = await ask(desk, "GET", path, { headers: { "if-none-match": first.headers.etag } });
  equal([known.status, known.raw.length], [304, 0], `${path}: still holds`);
  const other = await ask(desk, "GET", path, { headers: { "if-none-match": '"0000000000000000"' } });
  check(other.status === 200 && other.raw.equals(first.raw), `${path}: what it has is not this`);
  const only = await ask(desk, "HEAD", path);
  equal([only.status, only.raw.length, only.headers.etag], [200, 0, first.headers.etag], `${path}: HEAD`);
}
equal((await ask(desk, "GET", "/api/reading?passage=67:1-5&arid=6")).json.how.arid, 6, "another question, another answer");
check(!("etag" in (await ask(desk, "GET", "/api/session")).headers), "who is signed in is never kept");
equal((await ask(desk, "GET", "/api/reading?passage=67:1-5", { headers: { cookie: "mistara=0" } })).status, 401, "what is kept is kept for those who are signed in");

// The page brings along what it will ask first, under the very address it asks at.
const html = (await ask(desk, "GET", "/text/67:1-5?stops=signs", { headers: { cookie: `${desk.cookie}; lang=ar` } })).text;
const along = html.includes('id="first"') && JSON.parse(/id="first">(.*?)<\/script>/s.exec(html)[1]);
if (along) {
  equal([along.signed_in, along.role], [true, "teacher"], "the page knows who is signed in");
  check(!html.includes(desk.token), "but does not hold the session's token");
  const address = "/api/reading?passage=67%3A1-5&stops=signs&lang=ar&parts=words%2Cletters%2Csites";
  equal(along.answers[address], (await ask(desk, "GET", address)).json, "the reading is the one that would be asked for");
  equal(along.answers["/api/rules"], (await ask(desk, "GET", "/api/rules")).json, "the rules too");
  const stranger = (await ask(desk, "GET", "/text/67:1-5", { headers: { cookie: "lang=ar" } })).text;
  equal(JSON.parse(/id="first">(.*?)<\/script>/s.exec(stranger)[1]), { signed_in: false, role: null, answers: {} }, "a stranger's page brings nothing");
  for (const wrong of ["/text/115:1", "/text/67:1-5?arid=99", "/text/67:1-5?nothing=1", "/text/%3C/script%3E"])
    check(!/api\/reading\?|class="word"/.test((await ask(desk, "GET", wrong)).text), `${wrong} brings no reading`);
} else {
  console.log("skipped: this build carries no pages");
}

// The reading holds together: indices, offsets, addresses.
const reading = (await ask(desk, "GET", "/api/reading?passage=78:1-40")).json;
for (const [n, letter] of reading.letters.entries()) {
  const word = reading.words[letter.word];
  check(n >= word.letters[0] && n < word.letters[0] + word.letters[1], `letter ${n} is not in its word`);
  check(letter.start + letter.length <= word.display.length && letter.length > 0, `letter ${n} reaches beyond its word`);
  for (const site of letter.sites) equal(reading.sites[site].trigger, n, `site ${site} of letter ${n}`);
}
for (const word of reading.words) {
  const letters = reading.letters.slice(word.letters[0], word.letters[0] + word.letters[1]);
  letters.forEach((letter, n) => check(n === 0 || letter.start >= letters[n - 1].start + letters[n - 1].length,
    `letters of ${word.at} overlap`));
  // Every base stands where it is said to stand: the first code point of its stretch, unless a hamza
  // sits on a bare stroke.
  for (const letter of letters)
    check(letter.base === "ء" || word.display.slice(letter.start).startsWith(letter.base), `${letter.at} is not ${letter.base}`);
}
// Stops change the sites at once, and an address keeps its meaning.
const joined = (await ask(desk, "GET", "/api/reading?passage=112:1-2&stops=none")).json;
const stopped = (await ask(desk, "GET", "/api/reading?passage=112:1-2")).json;
const rulesAt = (r, at) => r.sites.filter((s) => s.at === at).map((s) => s.rule);
check(rulesAt(joined, "112:1:4:3").includes("tanwin_kasra"), "112:1 joined: the tanwīn takes a kasra");
check(rulesAt(stopped, "112:1:4:3").includes("qalqala"), "112:1 at a stop: the dāl echoes");
// Sites are those of the command line: the server adds no rule and loses none.
const lines = execFileSync(`${process.env.MISTARA_BUILD_ROOT}/mistara`, ["sites", "78:1-40", "--json"])
  .toString().trim().split("\n").map((line) => JSON.parse(line));
equal(reading.sites.map((s) => `${s.rule} ${s.at} ${s.counts}`).length, lines.length, "as many sites as `mistara sites`");
for (const [n, line] of lines.entries()) {
  equal([reading.sites[n].rule, reading.sites[n].counts, reading.sites[n].reason], [line.rule, line.counts, line.reason],
    `site ${n} as \`mistara sites\` gives it`);
}

// Texts of lessons, the course, hearings, settings.
const lesson = (await tried("POST", "/api/lessons")).json;
await tried("POST", "/api/lessons/check");
const draft = (await tried("POST", "/api/lessons/draft")).json;
const drafted = (await tried("POST", "/api/lessons/check", { body: { text: draft.text } })).json;
check(/^rules: ikhfa$/m.test(draft.text) && drafted.problems.every((one) => one.advice), "a drafted lesson holds");
await tried("POST", "/api/lessons/draft", { body: { rules: "nosuchrule" }, want: 404 });
const given = (await G("/api/course/default")).json;
check(given.text.startsWith("mistara course 1\n"), "the default course as it stands");
await G("/api/lessons");
await G("/api/lessons/{lesson}", { ids: { lesson: lesson.id } });
const saved = (await tried("PUT", "/api/lessons/{lesson}", { ids: { lesson: lesson.id } })).json;
equal(saved.revision, 2, "a saved lesson's revision");
await tried("PUT", "/api/lessons/{lesson}", { ids: { lesson: lesson.id }, want: 409 });
const course = (await G("/api/course")).json;
await tried("PUT", "/api/course", { body: { text: "# A year\n", revision: course.revision } });
await G("/api/course/plan", { want: 422 });
const wide = (await tried("POST", "/api/lessons/check", { body: { text: "mistara lesson 1\ntitle: Echo\nrules: qalqala\n[examples]\n112:1\njuz 30\n" } })).json.problems.filter((one) => one.line === 6);
check(wide.some((one) => one.advice && one.message.startsWith("these are 564 verses")), `an example too long to be shown: ${JSON.stringify(wide)}`);
const copy = (await tried("POST", "/api/lessons/{lesson}/duplicate", { ids: { lesson: lesson.id } })).json;
check(copy.id !== lesson.id && copy.revision === 1 && copy.text.includes("title: Echo letters, second evening\n"), `the copy: ${copy.text}`);
equal((await tried("POST", "/api/lessons/{lesson}/duplicate", { ids: { lesson: lesson.id }, body: {} })).json.text, saved.text, "without a title the same, byte for byte");
await tried("POST", "/api/lessons/{lesson}/duplicate", { want: 404 });
const echo = (await tried("POST", "/api/lessons", { body: { text: "mistara lesson 1\ntitle: Echo\nrules: qalqala\n[examples]\n112:1\n[passage]\nrange: 112\n[questions]\nmark: 112\n" } })).json;
await tried("PUT", "/api/course", { body: { revision: course.revision + 1, text: "mistara course 1\ntitle: Evenings\n"
  + `[lesson]\ntitle: Echo\nrules: qalqala\nfile: ${echo.id}.lesson\npassage: juz 30\ndate: 2026-12-01\n[lesson]\ntitle: Reading\npassage: 67\nfile: gone.lesson\n` } });
const plan = (await G("/api/course/plan")).json;
equal(plan.lessons.map((one) => [one.lesson, one.title, one.rules, one.date, one.line]),
  [[1, "Echo", ["qalqala"], "2026-12-01", 3], [2, "Reading", [], null, 9]], "the plan's lessons");
equal(plan.juz_untouched, Array.from({ length: 28 }, (_, n) => n + 1), "the juz that are never read");
check(plan.never_taught.includes("ikhfa") && !plan.never_taught.includes("qalqala"), "what is never taught");
check(plan.gaps.some((one) => one.member.includes("qāf")) && !plan.gaps.some((one) => one.member.includes("dāl")),
  "112:1 is an example of the echo of dāl and of no other");

// Its pages, as they will be.
const leaf = await G("/api/lessons/{lesson}/page.svg", { ids: { lesson: echo.id } });
check(leaf.text.startsWith("<?xml") || leaf.text.startsWith("<svg"), "a page of the handout");
const leaves = Number(leaf.headers["mistara-pages"]);
check(leaves >= 2, `the handout has its key on a page of its own: ${leaves}`);
check((await G("/api/lessons/{lesson}/page.svg", { ids: { lesson: echo.id }, query: { of: "slides", page: 1, theme: "dark" } })).text !== leaf.text, "a slide is another");
await G("/api/lessons/{lesson}/page.svg", { ids: { lesson: echo.id }, query: { page: leaves + 1 }, want: 404 });
await G("/api/lessons/{lesson}/page.svg", { ids: { lesson: echo.id }, query: { passage: 2 }, want: 404 });
await G("/api/lessons/{lesson}/page.svg", { ids: { lesson: echo.id }, query: { of: "cards" }, want: 400 });
await G("/api/lessons/{lesson}/page.svg", { ids: { lesson: lesson.id }, want: 422 });
// A voice that a lesson names is one learned here, or it is told.
const voiced = (await tried("POST", "/api/lessons/check", { body: { text: "mistara lesson 1\ntitle: x\nrules: qalqala\nvoice: nobody\n[examples]\n112:1\n[passage]\nrange: 112\n" } })).json;
check(voiced.problems.some((one) => one.advice && one.message.includes("nobody")), `an unknown voice is advice: ${JSON.stringify(voiced.problems)}`);

// What a lesson gives: made as a job, its files fetched one by one and all in one.
await tried("POST", "/api/lessons/{lesson}/build", { ids: { lesson: echo.id }, body: { make: ["handuot"] }, want: 400 });
await tried("POST", "/api/lessons/{lesson}/build", { ids: { lesson: lesson.id }, want: 422 });
const making = (await tried("POST", "/api/lessons/{lesson}/build", { ids: { lesson: echo.id }, body: { make: ["handout", "questions", "captions", "zip"] } })).json;
const built = await jobEnd(desk, making.id, 120);
equal([built.state, built.reason], ["done", null], "the lesson is made");
for (const [ending, begins] of [["handout.pdf", "%P"], ["questions-A.pdf", "%P"], ["lesson.zip", "PK"]]) {
  const name = built.files.find((one) => one.name.endsWith(ending))?.name;
  const file = await ask(desk, "GET", `/api/jobs/${built.id}/files/${name}`);
  equal([file.status, file.raw.subarray(0, 2).toString()], [200, begins], `${ending} is what it is called`);
}
check(built.files.every((one) => one.bytes > 0 && !one.name.includes("/")), "files to fetch");
equal(built.result.missing.map((one) => one.part), ["captions"], "what needs a recording is named as missing");
const hearing = (await tried("POST", "/api/hearings")).json;
await G("/api/hearings");
equal((await tried("PATCH", "/api/hearings/{hearing}", { ids: { hearing: hearing.id } })).json.undone, true, "undone");
await tried("DELETE", "/api/hearings/{hearing}", { ids: { hearing: hearing.id } });
await tried("DELETE", "/api/hearings/{hearing}", { ids: { hearing: hearing.id }, want: 404 });
await tried("PUT", "/api/settings");
equal((await G("/api/settings")).json.settings, { theme: "dark" }, "settings");

// Events come as things change.
const events = [];
const stream = (await import("node:http")).request({ host: desk.host, port: desk.port, path: "/api/events", headers: { cookie: desk.cookie } });
stream.on("response", (response) => {
  equal(response.headers["content-type"], "text/event-stream; charset=utf-8", "the stream's type");
  let text = "";
  response.on("data", (part) => {
    text += part;
    for (let end; (end = text.indexOf("\n\n")) >= 0; text = text.slice(end + 2)) {
      const event = /event: (\w+)\ndata: (.*)/.exec(text.slice(0, end));
      if (event) events.push([event[1], JSON.parse(event[2])]);
    }
  });
  response.on("error", () => {});
});
stream.on("error", () => {});
stream.end();

// A take from end to end.
const sheet = (await tried("POST", "/api/sheets")).json;
const sheetDone = await jobEnd(desk, sheet.id);
equal(sheetDone.files.map((f) => f.name), ["sheet.pdf"], "the sheet's files");
await G("/api/jobs/{job}/files/{file}", { ids: { job: sheet.id, file: "sheet.pdf" } });
await G("/api/jobs/{job}/files/{file}", { ids: { job: sheet.id, file: "../../mistara.db" }, want: 404 });

const sound = buzz(reading);
const take = (await tried("POST", "/api/takes", { query: { name: "Evening class", passage: "78:1-40" }, body: sound })).json;
const other = (await tried("POST", "/api/takes", { query: { passage: "78:1-40", listen: 1, arid: 6 }, body: buzz(reading, { seed: 9, held: 1.25 }) })).json;
const wrong = (await tried("POST", "/api/takes", { query: { passage: "112", listen: 1 }, body: bursts(12) })).json;
equal([take.state, take.type, other.how], ["new", "audio/wav", { arid: 6 }], "takes as sent");
check(["waiting", "listening"].includes(other.state), `it waits, or is begun already: ${other.state}`);
await G("/api/takes");
await G("/api/takes/{take}/report", { ids: { take: take.id }, want: 404 });
equal(take.seconds, null, "nobody has looked into the take yet");
const outline = (await G("/api/takes/{take}/peaks", { ids: { take: take.id } })).json;
const looked = (await G("/api/takes/{take}", { ids: { take: take.id } })).json;
// 16 bits, one channel, 16 kHz, after a head of 44 bytes: as buzz.mjs writes it.
check(Math.abs(looked.seconds - (sound.length - 44) / 32000) < 0.01 && Math.abs(outline.seconds - looked.seconds) < 0.01,
  `the first look tells its length: ${looked.seconds} s`);
equal(looked.revision, take.revision, "that is no change of the take");
await G("/api/takes/{take}/spectrogram.png", { ids: { take: take.id } });
const pins = { pins: [{ at: "78:1:1", sound: null, ms: 420 }, { at: "78:1:2", sound: 3, ms: 1400 }] };
equal((await tried("PUT", "/api/takes/{take}/pins", { ids: { take: take.id }, body: pins })).json, pins, "pins as set");
await G("/api/takes/{take}/pins", { ids: { take: take.id } });
await tried("PATCH", "/api/takes/{take}", { ids: { take: take.id } });

// Who counts on a take is told before it goes, and the lesson says so afterwards.
const short = (await tried("POST", "/api/takes", { query: { name: "Echo", passage: "112" }, body: bursts(1, 7) })).json;
const counts = (await tried("POST", "/api/lessons", { body: { text: `mistara lesson 1\ntitle: Counts on it\nrules: qalqala\n[passage]\nrange: 112\n[takes]\nmine: takes/${short.id} | 112\n` } })).json;
const gone = (all) => all.problems.filter((one) => /was deleted/.test(one.message));
equal(gone(counts), [], "while it is there nothing is said of it");
equal((await G("/api/takes/{take}/uses", { ids: { take: short.id } })).json, { lessons: [{ id: counts.id, title: "Counts on it" }], assignments: [] }, "the lesson that uses it");
equal((await G("/api/takes/{take}/uses", { ids: { take: take.id } })).json, { lessons: [], assignments: [] }, "of another nobody");
await tried("DELETE", "/api/takes/{take}", { ids: { take: short.id } });
const [said] = gone((await G("/api/lessons/{lesson}", { ids: { lesson: counts.id } })).json);
check(said?.line === 7 && said.advice && said.message.includes("“mine”") && /حُذف التسجيل «\u2068?mine/.test(said.message_ar), `the lesson says that it is gone: ${JSON.stringify(said)}`);
const whole = await G("/api/takes/{take}/audio", { ids: { take: take.id } });
check(whole.raw.equals(sound), "the sound comes back byte for byte");
for (const [range, status, from, to] of [["bytes=0-99", 206, 0, 100], ["bytes=-50", 206, sound.length - 50, sound.length],
  ["bytes=1000-", 206, 1000, sound.length], [`bytes=${sound.length}-`, 416], ["bytes=9-3", 200, 0, sound.length],
  ["bytes=0-1,5-6", 200, 0, sound.length], ["minutes=3", 200, 0, sound.length]]) {
  const part = await ask(desk, "GET", `/api/takes/${take.id}/audio`, { headers: { range } });
  equal(part.status, status, `Range: ${range}`);
  if (status !== 416) check(part.raw.equals(sound.subarray(from, to)), `Range: ${range} gives other bytes`);
}
await tried("POST", "/api/takes/{take}/listen", { ids: { take: other.id }, want: 409 });
await tried("DELETE", "/api/takes/{take}", { ids: { take: other.id }, want: 409 });
equal((await jobEnd(desk, other.job)).state, "done", "the second take is heard");
await tried("PATCH", "/api/takes/{take}", { ids: { take: take.id }, body: { model: other.id } });
const listening = (await tried("POST", "/api/takes/{take}/listen", { ids: { take: take.id } })).json;
equal((await jobEnd(desk, listening.id)).state, "done", "the take is heard");
const heard = (await G("/api/takes/{take}", { ids: { take: take.id } })).json;
equal([heard.state, heard.report, heard.job, heard.pins], ["heard", true, null, 2], "the take heard");
const report = (await G("/api/takes/{take}/report", { ids: { take: take.id } })).json;
check(report.words.length >= 173 && report.fit > 0.9, `words heard: ${report.words.length}, fit ${report.fit}`);
check(report.sites.every((s) => s.held_ms > 0 && s.expected_counts > 0), "sites have measures");
check(report.model_pace_ratio > 0, "the model's pace was used");
check(Array.isArray(report.faults) && report.faults.length <= 5 && report.faults.every((f) => f.grade && f.text && f.end_ms > f.start_ms),
  `plain errors, at most five: ${JSON.stringify(report.faults)}`);
check(Math.abs(report.words.find((w) => w.at === "78:1:1").start_ms - 420) <= 40, "the pin was used");
for (const form of ["vtt", "tsv", "txt", "html", "pdf"]) await G(`/api/takes/{take}/report.${form}`, { ids: { take: take.id } });
equal((await jobEnd(desk, wrong.job)).state, "failed", "noise is refused");
const refused = (await G("/api/takes/{take}", { ids: { take: wrong.id } })).json;
check(refused.state === "refused" && refused.problem.length > 20, "… and says why");
const silent = (await tried("POST", "/api/takes", { query: { passage: "112", listen: 1 }, body: "no sound at all" })).json;
await jobEnd(desk, silent.job);
const unheard = (await G("/api/takes/{take}", { ids: { take: silent.id } })).json;
equal([unheard.problem, unheard.problem_ar.replace(/[\u2066-\u2069]/g, "")], ["the recording is not a sound file that Mistara knows", "التسجيل ليس ملف صوت يعرفه Mistara"],
  "what is no sound is told by what it is, not by where it lies");
const comparison = (await tried("POST", "/api/comparisons", { body: { first: take.id, second: other.id } })).json;
const compared = await jobEnd(desk, comparison.id);
check(compared.state === "done" && compared.result.pace_ratio > 0 && compared.result.sites.length > 50, `compared: ${JSON.stringify(compared).slice(0, 300)}`);
const voice = (await tried("POST", "/api/voices", { body: { name: "teacher", takes: [take.id] } })).json;
equal((await jobEnd(desk, voice.id)).state, "done", "a voice is learned");
equal((await G("/api/voices")).json.voices.map((v) => v.name), ["teacher"], "voices");
await tried("DELETE", "/api/voices/{name}", { ids: { name: "teacher" } });

// A film's wishes are looked at before it is promised; tests/server/build.mjs makes one.
for (const body of [{ theme: "blue" }, { rules: "nosuchrule" }, { fade: 1 }, { form: "gif" }, { length: 3 }])
  check([400, 404].includes((await ask(desk, "POST", `/api/takes/${take.id}/film`, { body })).status), `a film with ${JSON.stringify(body)}`);
const filming = (await tried("POST", "/api/takes/{take}/film", { ids: { take: take.id } })).json;
equal([filming.kind, filming.about], ["film", take.id], "a film is a job about its take");
await ask(desk, "POST", `/api/jobs/${filming.id}/cancel`, { body: {} });
equal((await jobEnd(desk, filming.id)).state, "cancelled", "a film is cancelled");

// Cancelled: one that waits, one at work.
await tried("POST", "/api/takes/{take}/listen", { ids: { take: take.id } });
const waits = (await ask(desk, "POST", `/api/takes/${wrong.id}/listen`, { body: {} })).json;
await tried("POST", "/api/jobs/{job}/cancel", { ids: { job: waits.id } });
equal((await jobEnd(desk, waits.id)).state, "cancelled", "a waiting job is cancelled");
const busy = (await ask(desk, "GET", `/api/jobs?about=${take.id}`)).json.jobs[0];
await tried("DELETE", "/api/jobs/{job}", { ids: { job: busy.id }, want: 409 });
await tried("POST", "/api/jobs/{job}/cancel", { ids: { job: busy.id } });
const ended = await jobEnd(desk, busy.id);
check(["cancelled", "done"].includes(ended.state), `a job at work is cancelled: ${ended.state}`);
equal((await G("/api/takes/{take}", { ids: { take: take.id } })).json.state, "heard", "the earlier report stands");
await G("/api/jobs");
await G("/api/jobs/{job}", { ids: { job: busy.id } });
await tried("DELETE", "/api/jobs/{job}", { ids: { job: busy.id } });
await tried("DELETE", "/api/takes/{take}", { ids: { take: take.id } });
await G("/api/takes/{take}", { ids: { take: take.id }, want: 404 });

// The stream is its own connection: what it tells of the deletion may come after the answer to it.
const goneTold = () => events.some(([name, data]) => name === "take" && data.gone && data.id === take.id);
for (let tries = 0; tries < 100 && !goneTold(); tries++) await new Promise((resolve) => setTimeout(resolve, 50));

check(events[0]?.[0] === "hello", "the stream begins with hello");
const progress = events.filter(([name, job]) => name === "job" && job.id === listening.id).map(([, job]) => job);
check(progress.length >= 3, `progress came ${progress.length} times`);
check(progress.every((job, n) => n === 0 || job.progress >= progress[n - 1].progress || job.state !== "running"), "progress goes forward");
equal(progress.at(-1)?.state, "done", "the last event of a job");
for (const [, job] of events.filter(([name]) => name === "job"))
  if (!job.gone) fits(job, api.components.schemas.Job, api).slice(0, 2).forEach((error) => check(false, `event: ${error}`));
check(goneTold(), "the take's end is told");

await tried("DELETE", "/api/lessons/{lesson}", { ids: { lesson: lesson.id } });

// Leaving, last.
await tried("PUT", "/api/passphrase");
equal((await G("/api/session")).json.ways, ["link", "passphrase"], "ways in");
await tried("DELETE", "/api/session");
equal((await ask(desk, "GET", "/api/suras")).status, 401, "signed out");
desk.token = "";
const again = await ask(desk, "POST", "/api/session", { body: { passphrase: "three plain words" } });
equal(again.status, 201, "the passphrase lets in");

// Where the fonts are missing, pages cannot be set; reading goes on.
const bare = await signIn(await start(folder(), [], { MISTARA_FONTS: "nowhere" }));
for (const path of ["/api/ink", "/api/sheet.svg"]) {
  const answer = await ask(bare, "GET", `${path}?passage=112`);
  equal([answer.status, answer.json.error.code], [501, "unsupported"], `${path} without fonts`);
  check("501" in api.paths[path].get.responses, `${path} does not describe 501`);
}
equal((await ask(bare, "GET", "/api/ink?passage=115")).status, 404, "a sura there is not is still not found");
equal((await ask(bare, "GET", "/api/reading?passage=112")).status, 200, "a reading needs no fonts");
await stop(bare);

const { code } = await stop(desk);
equal(code, 0, "it ends in good order");
check(!/Evening|78:|three plain|k3v9/.test(desk.err) && !desk.err.includes(take.id), "the log holds nothing personal");
finish("api");
