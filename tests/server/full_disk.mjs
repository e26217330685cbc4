// full_disk.mjs – a disk that is full: the desk says so and goes on, nothing that was answered is
// lost, and with room again all goes on. Where no disk may be mounted it is skipped.
import { spawnSync } from "node:child_process";
import { mkdirSync } from "node:fs";
import path from "node:path";
import { ask, bursts, check, equal, finish, folder, opened, stop, whole } from "./desk.mjs";
import { agrees, made, person, uploads } from "./class.mjs";

const small = path.join(folder(), "data");
mkdirSync(small);
const mount = spawnSync("mount", ["-t", "tmpfs", "-o", "size=3m,mode=0700", "tmpfs", small]);
if (mount.status !== 0) {
  console.log(`full-disk: skipped, no disk can be mounted here: ${mount.stderr ?? mount.error}`);
  process.exit(77);
}
let desk;
try {
  desk = await opened(small, ["--quiet"]);
  const here = (await made(desk, "/api/classes", { name: "Tuesday evening" })).id;
  const task = (await made(desk, `/api/classes/${here}/assignments`, { passage: "112" })).id;
  const lamp = await person(desk, here, "Lamp");
  await agrees(lamp);
  const kept = new Map(), refused = [];
  for (let n = 0; n < 60 && refused.length < 8; n++) {
    const sound = bursts(4, 1 + n);
    try {
      const upload = await uploads(lamp, task, sound);
      const answer = await ask(lamp, "POST", `/api/mine/uploads/${upload}/submit`, { body: { marks: [] } });
      if (answer.status < 300) kept.set(answer.json.id, sound);
      else refused.push(answer.text);
    } catch (error) {
      refused.push(String(error));
    }
  }
  check(kept.size > 2, `only ${kept.size} were kept`);
  check(refused.length === 8, "the disk is full");
  check(refused.every((text) => /"code":|code/.test(text)), `it is said: ${refused[0]}`);
  check(refused.some((text) => /full/.test(text)), `in words: ${refused[0]}`);
  equal((await ask(desk, "GET", "/healthz")).status, 200, "the desk goes on");
  await stop(desk);
  whole(small, "after a full disk");
  equal(spawnSync("mount", ["-o", "remount,size=40m", small]).status, 0, "a larger disk");
  const { cookie, token } = desk;
  desk = { ...(await opened(small, ["--quiet"])), cookie, token };
  for (const [id, sound] of kept)
    check((await ask(desk, "GET", `/api/submissions/${id}/audio`)).raw.equals(sound), `submission ${id} is lost or changed`);
  const who = { ...lamp, host: desk.host, port: desk.port };
  const upload = await uploads(who, task, bursts(4, 99));
  check((await ask(who, "POST", `/api/mine/uploads/${upload}/submit`, { body: { marks: [] } })).status < 300, "with room again it is taken");
  await stop(desk);
  whole(small, "with room again");
} finally {
  desk?.child.kill("SIGKILL");
  spawnSync("umount", ["-l", small]);
}
finish("full-disk");
