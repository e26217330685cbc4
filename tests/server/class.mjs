// class.mjs – classes for the tests: people who came in with their codes, each with a sign-in of
// their own, and something they were given and handed in.
import { ask, bursts, check, openapi } from "./desk.mjs";
import { fits } from "./schema.mjs";

// Asked, and every answer held against its description in data/openapi.json.
export function askedAsDescribed() {
  const api = openapi();
  const paths = Object.keys(api.paths).map((at) => [at, new RegExp(`^${at.replace(/\{\w+\}/g, "[^/]+")}$`)]);
  return async (desk, method, url, options) => {
    const answer = await ask(desk, method, url, options);
    const at = paths.find(([one, fitting]) => !one.includes("{") && fitting.test(url.split("?")[0]))?.[0] ?? paths.find(([, fitting]) => fitting.test(url.split("?")[0]))?.[0];
    let described = api.paths[at]?.[method.toLowerCase()]?.responses[String(answer.status)];
    check(described, `${method} ${url} → ${answer.status} is not described: ${answer.text.slice(0, 200)}`);
    if (described?.$ref) described = api.components.responses[described.$ref.split("/").pop()];
    const content = described?.content?.["application/json"];
    if (content && answer.json) fits(answer.json, content.schema, api).slice(0, 3).forEach((error) => check(false, `${method} ${url} → ${answer.status}: ${error}`));
    return answer;
  };
}

// Asked as someone who waits when told to: a quick machine asks more in a moment than people do.
export async function patiently(desk, method, url, options) {
  for (let n = 0; ; n++) {
    const answer = await ask(desk, method, url, options);
    if (answer.status !== 429 || n === 60) return answer;
    await new Promise((wake) => setTimeout(wake, 250));
  }
}
async function wanted(desk, status, method, url, body) {
  const answer = await patiently(desk, method, url, { body });
  if (answer.status !== status) throw new Error(`${method} ${url} → ${answer.status}: ${answer.text.slice(0, 300)}`);
  return answer.json;
}
export const made = (desk, url, body = {}) => wanted(desk, 201, "POST", url, body);

// The desk as someone else sees it.
export async function joins(desk, code) {
  const nobody = { ...desk, cookie: "", token: "" };
  const answer = await ask(nobody, "POST", "/api/session", { body: { code } });
  if (answer.status !== 201) throw new Error(`nobody comes in: ${answer.text}`);
  return { ...desk, cookie: answer.headers["set-cookie"][0].split(";")[0], token: answer.json.token, id: answer.json.person.id };
}
export async function person(desk, of, label, role = "learner") {
  const { id } = await made(desk, `/api/classes/${of}/people`, { label, role });
  const { code } = await made(desk, `/api/people/${id}/code`);
  return { ...(await joins(desk, code)), label };
}
export const agrees = (who, by = "self") => wanted(who, 200, "POST", "/api/mine/consent", { by });

export const part = (who, upload, offset, bytes) =>
  patiently(who, "PUT", `/api/mine/uploads/${upload}?offset=${offset}`, { body: bytes, headers: { "content-type": "audio/wav" } });
export async function begins(who, assignment, bytes) {
  return (await made(who, "/api/mine/uploads", { assignment, type: "audio/wav", bytes })).upload;
}
// A whole recording, part by part.
export async function uploads(who, assignment, sound) {
  const upload = await begins(who, assignment, sound.length);
  for (let at = 0; at < sound.length; at += 1 << 19) {
    const answer = await part(who, upload, at, sound.subarray(at, at + (1 << 19)));
    if (answer.status !== 200) throw new Error(`a part is refused: ${answer.text}`);
  }
  return upload;
}
export async function handsIn(who, assignment, sound = bursts(2, 1 + Math.floor(Math.random() * 1e6)), marks = []) {
  return made(who, `/api/mine/uploads/${await uploads(who, assignment, sound)}/submit`, { marks });
}
