// desk.mjs – a desk of its own for a test: the real program on a free port, with a folder that goes
// away again. And small helpers to ask it things.
import { execFileSync, spawn, spawnSync } from "node:child_process";
import { mkdtempSync, rmSync, readFileSync } from "node:fs";
import http from "node:http";
import os from "node:os";
import path from "node:path";
import { wavFile } from "./wav.mjs";

const build = process.env.MISTARA_BUILD_ROOT;
export const program = path.join(build, "src/server/mistara-serve");
export const source = process.env.MISTARA_SOURCE_ROOT;

let failures = 0;
let checks = 0;
export function check(holds, what) {
  checks++;
  if (!holds) {
    failures++;
    console.error(`FAILED: ${what}`);
  }
}
export function equal(got, wanted, what) {
  check(JSON.stringify(got) === JSON.stringify(wanted),
    `${what}: ${JSON.stringify(got)} instead of ${JSON.stringify(wanted)}`);
}
export function finish(name) {
  // With sanitizers, whatever they had to say of a desk of this test.
  for (const { err } of started) {
    const said = /(runtime error|AddressSanitizer|LeakSanitizer)[\s\S]{0,3000}/.exec(err);
    check(!said, `the desk: ${said?.[0]}`);
  }
  console.log(`${name}: ${checks} checks, ${failures} failed`);
  process.exit(failures ? 1 : 0);
}

const folders = [];
process.on("exit", () => {
  running.forEach((child) => child.kill("SIGKILL"));
  folders.forEach((made) => rmSync(made, { recursive: true, force: true }));
});
export function folder() {
  const made = mkdtempSync(path.join(os.tmpdir(), "mistara-desk-"));
  folders.push(made);
  return made;
}

const running = new Set(), started = [];

// Where MISTARA_TEST_DATABASE names a PostgreSQL (with_postgresql.sh), every folder's rows are there,
// in a schema of their own.
const schemas = new Map();
function storeOf(data) {
  const database = process.env.MISTARA_TEST_DATABASE;
  if (!database) return [];
  if (!schemas.has(data)) {
    schemas.set(data, `d${process.pid}_${schemas.size}`);
    execFileSync("psql", [database, "-qc", `CREATE SCHEMA ${schemas.get(data)}`]);
  }
  return [`--store=${database}&options=-csearch_path%3D${schemas.get(data)}`];
}

// Start; resolves when it has printed where it is.
export function start(data, args = [], env = {}) {
  return new Promise((resolve, reject) => {
    const child = spawn(program, [`--data=${data}`, "--port=0", ...(args.some((arg) => arg.startsWith("--store")) ? [] : storeOf(data)), ...args],
      { env: { MISTARA_FAULTS: path.join(source, "data/faults/default.faults"), ...process.env, ...env } });
    const desk = { child, err: "", cookie: "", token: "", data };
    running.add(child);
    started.push(desk);
    let out = "";
    child.stderr.on("data", (text) => (desk.err += text));
    child.stdout.on("data", (text) => {
      out += text;
      const line = /^(https?):\/\/(.*):(\d+)\/(?:#enter=(\S+))?\n/.exec(out);
      if (line) {
        desk.host = line[2].replace(/[[\]]/g, "");
        desk.port = Number(line[3]);
        desk.link = line[4];
        resolve(desk);
      }
    });
    desk.ended = new Promise((done) => child.on("close", (code, signal) => {
      running.delete(child);
      done({ code, signal });
      reject(Object.assign(new Error(`the desk ended: ${desk.err}`), { code, err: desk.err }));
    }));
  });
}

// Ask. Body: a string or bytes is sent as it is, anything else as JSON.
export function ask(desk, method, url, { body, headers = {}, agent } = {}) {
  const json = body !== undefined && typeof body !== "string" && !Buffer.isBuffer(body);
  const bytes = body === undefined ? null : json ? Buffer.from(JSON.stringify(body)) : Buffer.from(body);
  const all = { ...headers };
  if (desk.cookie && all.cookie === undefined) all.cookie = desk.cookie;
  if (desk.token && all["x-mistara-token"] === undefined) all["x-mistara-token"] = desk.token;
  if (json) all["content-type"] ??= "application/json";
  for (const name of Object.keys(all)) if (all[name] === null) delete all[name];
  if (bytes && !all["transfer-encoding"]) all["content-length"] ??= bytes.length;
  return new Promise((resolve, reject) => {
    const request = http.request({ host: desk.host, port: desk.port, method, path: url, headers: all, agent },
      (response) => {
        const parts = [];
        response.on("data", (part) => parts.push(part));
        response.on("error", reject);
        response.on("end", () => {
          const raw = Buffer.concat(parts);
          const answer = { status: response.statusCode, headers: response.headers, raw, text: raw.toString() };
          if (method !== "HEAD" && /^application\/json/.test(response.headers["content-type"] ?? ""))
            answer.json = JSON.parse(answer.text);
          resolve(answer);
        });
      });
    request.on("error", reject);
    request.end(bytes ?? undefined);
  });
}

export async function signIn(desk) {
  const answer = await ask(desk, "POST", "/api/session", { body: { link: desk.link } });
  if (answer.status !== 201) throw new Error(`no way in: ${answer.text}`);
  desk.cookie = answer.headers["set-cookie"][0].split(";")[0];
  desk.token = answer.json.token;
  return desk;
}

export async function opened(data, args) {
  return signIn(await start(data, args));
}

export async function stop(desk, signal = "SIGTERM") {
  desk.child.kill(signal);
  return desk.ended;
}

// What the book says of itself.
export function whole(data, when) {
  const said = spawnSync(path.join(build, "mistara"), ["check", "--data", data]);
  check(said.status === 0, `${when}: ${said.stdout}${said.stderr}`);
}

// Wait until a job has ended.
export async function jobEnd(desk, id, seconds = 600) {
  for (let n = 0; n < seconds * 10; n++) {
    const job = (await ask(desk, "GET", `/api/jobs/${id}`)).json;
    if (!["waiting", "running"].includes(job.state)) return job;
    await new Promise((wake) => setTimeout(wake, 100));
  }
  throw new Error(`job ${id} does not end`);
}

// A WAV file of noise bursts: sound enough to be decoded, no recitation.
export function bursts(seconds = 4, seed = 1) {
  let state = seed >>> 0;
  return wavFile(Array.from({ length: Math.round(seconds * 16000) }, (_, n) => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return Math.floor(n / 4000) % 3 !== 0 ? (state / 2 ** 32 - 0.5) * 12000 : 0;
  }));
}

export const openapi = () => JSON.parse(readFileSync(path.join(source, "data/openapi.json"), "utf8"));
