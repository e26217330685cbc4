// build.mjs – what becomes of takes at the desk: a film of one, and a lesson with the takes of its
// passage and examples, heard with the voice that was learned before and with the edges set by hand;
// every file is fetched and looked into. The sound is made by the test; with MISTARA_AUDIO it is
// done once more with recitations (a folder of SSSVVV.mp3, in its folder a).
import { execFileSync } from "node:child_process";
import { existsSync, mkdirSync, readFileSync, writeFileSync } from "node:fs";
import path from "node:path";
import { ask, check, equal, finish, folder, jobEnd, opened, stop } from "./desk.mjs";
import { buzz } from "./buzz.mjs";

const desk = await opened(folder(), ["--quiet"]);
const room = folder();
const readingOf = async (passage, how = "") => (await ask(desk, "GET", `/api/reading?passage=${passage}${how}`)).json;

async function sent(passage, body, more = "") {
  const answer = await ask(desk, "POST", `/api/takes?passage=${passage}${more}`, { body });
  equal(answer.status, 201, `a take of ${passage}`);
  return answer.json;
}
async function done(answer, seconds = 300) {
  equal(answer.status, 202, `promised: ${answer.text.slice(0, 200)}`);
  const job = await jobEnd(desk, answer.json.id, seconds);
  equal([job.state, job.reason], ["done", null], `${job.kind} is done`);
  return job;
}
// A file of a job, brought into the test's own folder.
async function fetched(job, name) {
  const answer = await ask(desk, "GET", `/api/jobs/${job.id}/files/${encodeURIComponent(name)}`);
  equal([answer.status, answer.raw.length], [200, job.files.find((one) => one.name === name)?.bytes], `${name} to fetch`);
  const at = path.join(room, `${job.id}-${name}`);
  writeFileSync(at, answer.raw);
  return at;
}
// ffprobe (FFmpeg) looks at a film as a player would.
function film(at, seconds, what) {
  const told = JSON.parse(execFileSync("ffprobe", ["-v", "error", "-show_streams", "-show_format", "-show_chapters", "-of", "json", at]).toString());
  const picture = told.streams.find((one) => one.codec_type === "video"), sound = told.streams.find((one) => one.codec_type === "audio");
  equal([picture?.codec_name, picture?.width, picture?.height, sound?.codec_name], ["h264", 1920, 1080, "aac"], `${what}: picture and sound`);
  if (seconds) check(Math.abs(Number(told.format.duration) - seconds) < 1, `${what} lasts ${told.format.duration} s, the take ${seconds}`);
  return told;
}
const seconds_of = (wav) => (wav.length - 44) / 32000;

/* --- a film of one take ---------------------------------------------------------------- */
const ikhlas = buzz(await readingOf("112"));
const one = await sent("112", ikhlas, "&name=Evening");
const first = await done(await ask(desk, "POST", `/api/takes/${one.id}/film`, { body: { labels: "en", rules: "qalqala" } }));
equal(first.files.map((file) => file.name), ["112-1-4.mp4", "112-1-4.srt", "112-1-4.vtt"], "film and captions by one name");
equal((await ask(desk, "GET", `/api/takes/${one.id}`)).json.state, "new", "the take is as it was");
const chapters = film(await fetched(first, "112-1-4.mp4"), seconds_of(ikhlas), "the film").chapters;
check(chapters.length >= 4, `a chapter a verse: ${chapters.length}`);
const captions = readFileSync(await fetched(first, "112-1-4.vtt"), "utf8");
check(captions.startsWith("WEBVTT") && captions.includes("112:1") && /echo/i.test(captions), "the captions name the echo, in English");

// The film goes with its take; while one is made, the take stays.
const other = (await ask(desk, "POST", `/api/takes/${one.id}/film`, { body: {} })).json;
equal((await ask(desk, "DELETE", `/api/takes/${one.id}`)).status, 409, "a take that is being filmed stays");
await ask(desk, "POST", `/api/jobs/${other.id}/cancel`, { body: {} });
equal((await jobEnd(desk, other.id)).state, "cancelled", "the second film is not made");
equal((await ask(desk, "DELETE", `/api/takes/${one.id}`)).status, 204, "then it can go");
equal([(await ask(desk, "GET", `/api/jobs/${first.id}`)).status, existsSync(path.join(desk.data, "work", first.id))], [404, false], "and its film is gone with it");

/* --- a voice, and edges set by hand -------------------------------------------------------- */
const naba = buzz(await readingOf("78:1-16"), { seed: 5 });
const long = await sent("78:1-16", naba, "&name=Long&listen=1");
equal((await jobEnd(desk, long.job)).state, "done", "the long take is heard");
await done(await ask(desk, "POST", "/api/voices", { body: { name: "teacher", takes: [long.id] } }));
const heard = (await ask(desk, "GET", `/api/takes/${long.id}/report`)).json;
const moved = heard.words.find((word) => word.at === "78:2:1");
const pin = { at: moved.at, sound: null, ms: Math.round(moved.start_ms) + 120 };
equal((await ask(desk, "PUT", `/api/takes/${long.id}/pins`, { body: { pins: [pin] } })).status, 200, "an edge is set");

/* --- a lesson with takes ---------------------------------------------------------------------- */
const example = await sent("78:14", buzz(await readingOf("78:14"), { seed: 11 }), "&name=Example");
const text = `mistara lesson 1
title: Hiding
title ar: الإخفاء
rules: ikhfa
language: en
voice: teacher

[examples]
78:14:1-5 | before thāʾ

[passage]
range: 78:1-16
fade: evenly

[questions]
mark: 78:1-16

[takes]
whole: takes/${long.id} | 78:1-16
one: takes/${example.id} | 78:14
`;
const lesson = (await ask(desk, "POST", "/api/lessons", { body: { text } })).json;
equal(lesson.problems.filter((problem) => !problem.advice || /voice/.test(problem.message)), [], "the lesson holds, its voice is known");
const made = await done(await ask(desk, "POST", `/api/lessons/${lesson.id}/build`, { body: { make: ["handout", "captions", "practice", "film", "zip"] } }));
equal(made.result.missing, [], "nothing of it is missing");
const names = made.files.map((file) => file.name);
for (const ending of ["handout.pdf", "lesson.zip", ".mp4", ".vtt", ".srt", ".ass"])
  check(names.some((name) => name.endsWith(ending)), `${ending} is among ${names}`);
film(await fetched(made, names.find((name) => name.endsWith(".mp4"))), 0, "the lesson's film");
equal(readFileSync(await fetched(made, names.find((name) => name.endsWith("handout.pdf")))).subarray(0, 5).toString(), "%PDF-", "the handout is a PDF");
const packed = await fetched(made, "lesson.zip");
execFileSync("unzip", ["-tq", packed]);
const listed = execFileSync("unzip", ["-Z1", packed]).toString().trim().split("\n");
for (const inside of [/handout\.pdf$/, /captions\/.*\.vtt$/, /sound\//, /film\/.*\.mp4$/, /index\.html$/])
  check(listed.some((name) => inside.test(name)), `${inside} in the zip: ${listed}`);
// The edge that was set by hand is where the captions have the word begin, to a frame or two.
const whole_captions = readFileSync(await fetched(made, names.find((name) => /whole.*\.vtt$/.test(name))), "utf8");
const begins = new RegExp(`^\\d+ ${pin.at}\\n00:(\\d\\d):(\\d\\d)\\.(\\d{3}) -->`, "m").exec(whole_captions);
const begins_ms = begins && Number(begins[1]) * 60000 + Number(begins[2]) * 1000 + Number(begins[3]);
check(begins && Math.abs(begins_ms - pin.ms) <= 40, `the caption of ${pin.at} begins at ${begins_ms}, its edge was set at ${pin.ms}`);

// A voice that was forgotten: the takes are named as missing with the reason, the paper is made.
equal((await ask(desk, "DELETE", "/api/voices/teacher")).status, 204, "the voice is forgotten");
const poorer = await done(await ask(desk, "POST", `/api/lessons/${lesson.id}/build`, { body: { make: ["handout", "captions"] } }));
check(poorer.result.missing.length >= 2 && poorer.result.missing.every((gone) => gone.message.includes("teacher")), `it is said which voice: ${JSON.stringify(poorer.result)}`);
check(poorer.files.some((file) => file.name.endsWith("handout.pdf")), "the handout is there all the same");

/* --- with recitations ---------------------------------------------------------------------------- */
const recitations = process.env.MISTARA_AUDIO && path.join(process.env.MISTARA_AUDIO, "a");
let skipped = 0;
if (recitations && existsSync(recitations)) {
  // Verse files end to end, as ffmpeg joins them.
  const joined = (sura, from, to) => {
    const list = path.join(room, `${sura}-${from}.txt`), at = path.join(room, `${sura}-${from}.flac`), three = (n) => String(n).padStart(3, "0");
    mkdirSync(room, { recursive: true });
    writeFileSync(list, Array.from({ length: to - from + 1 }, (_, n) => `file '${path.join(recitations, `${three(sura)}${three(from + n)}.mp3`)}'\n`).join(""));
    execFileSync("ffmpeg", ["-v", "error", "-f", "concat", "-safe", "0", "-i", list, "-ar", "16000", "-ac", "1", at]);
    return readFileSync(at);
  };
  const enrol = await sent("67:1-12", joined(67, 1, 12), "&name=Enrol&no_basmala=1&listen=1");
  equal((await jobEnd(desk, enrol.job)).state, "done", "sura 67 is heard");
  await done(await ask(desk, "POST", "/api/voices", { body: { name: "reciter", takes: [enrol.id] } }));
  const passage = await sent("78:1-16", joined(78, 1, 16), "&name=Passage&no_basmala=1"), short = await sent("78:40", joined(78, 40, 40), "&name=Short");
  const real = (await ask(desk, "POST", "/api/lessons", { body: { text: `mistara lesson 1\ntitle: Hiding\nrules: ikhfa\nreading: no-basmala\nvoice: reciter\n[examples]\n78:14:1-5\n78:40:13-15\n`
    + `[passage]\nrange: 78:1-16\nfade: evenly\n[questions]\nmark: 78:1-16\n[takes]\npassage: takes/${passage.id} | 78:1-16\nshort: takes/${short.id} | 78:40\n` } })).json;
  equal(real.problems.filter((problem) => !problem.advice), [], "the lesson holds");
  const job = await done(await ask(desk, "POST", `/api/lessons/${real.id}/build`, { body: { make: ["captions", "practice", "film", "zip"] } }), 600);
  equal(job.result.missing, [], "every take of the recitation is used, the short one with the voice");
  execFileSync("unzip", ["-tq", await fetched(job, "lesson.zip")]);
  film(await fetched(job, job.files.find((file) => file.name.endsWith(".mp4")).name), 0, "the recited lesson's film");
} else {
  skipped++;
  console.log("with recitations: skipped, MISTARA_AUDIO names no folder");
}
const { code } = await stop(desk);
equal(code, 0, "it ends in good order");
if (skipped) console.log(`${skipped} part skipped`);
finish("build");
