// What was handed in, on its way to the desk: in parts, going on where the desk says it is, again and
// again until it has accepted. One at a time, and in one window only.
import { get, Refusal, send } from "../api";
import { dropWork, putWork, workSound, type Work } from "./kept";

export const part_bytes = 192 * 1024;
const again_ms = [2000, 4000, 8000, 15_000, 30_000];
// These will be refused again however often they are asked: kept, and said.
const forGood = [400, 404, 409, 413, 415, 422];

interface Have { upload?: string; have: number; bytes?: number; submission?: string | null }

export class Outbox {
  private busy = false;
  private stopped = false;
  private fails = 0;
  private timer = 0;
  private again = false;
  // What the desk answered last when it could not be reached.
  away = "";

  constructor(private readonly works: () => Work[], private readonly changed: (work: Work, gone: boolean) => void) {
    window.addEventListener("online", this.now);
    document.addEventListener("visibilitychange", this.now);
  }
  close() {
    this.stopped = true;
    clearTimeout(this.timer);
    window.removeEventListener("online", this.now);
    document.removeEventListener("visibilitychange", this.now);
  }

  now = () => {
    clearTimeout(this.timer);
    if (this.busy) { this.again = true; return; }
    void this.run();
  };

  private async run() {
    this.busy = true;
    this.again = false;
    const all = async () => {
      for (const work of this.works()) if (work.handed && !work.trouble && !this.stopped) await this.deliver(work);
    };
    try {
      // Two windows would only get into each other's way.
      if (navigator.locks) await navigator.locks.request("mistara-outbox", all);
      else await all();
      this.fails = 0;
      this.away = "";
    } catch (error) {
      this.away = (error as Error).message;
      if (!this.stopped && !(error instanceof Refusal && error.status === 401))
        this.timer = window.setTimeout(this.now, again_ms[Math.min(this.fails++, again_ms.length - 1)]);
      const first = this.works().find((work) => work.handed);
      if (first) this.changed(first, false);
    }
    this.busy = false;
    if (this.again && !this.stopped) this.now();
  }

  // Whatever is noted, the desk has said it: it is there.
  private async note(work: Work, what: Partial<Work>) {
    this.away = "";
    Object.assign(work, what);
    await putWork(work);
    this.changed(work, false);
  }

  private async deliver(work: Work) {
    try {
      const sound = await workSound(work);
      // All of it may be there already, and only the answer have been lost.
      if (work.upload) {
        const found = await get<Have>(`mine/uploads/${work.upload}`);
        if (found.submission) { await this.accepted(work); return; }
        await this.note(work, { have: found.have });
      }
      if (!work.upload) await this.begin(work);
      while (work.have < work.bytes) {
        if (this.stopped) return;
        await this.note(work, { have: await this.part(work, sound) });
      }
      await send("POST", `mine/uploads/${work.upload}/submit`, { marks: work.marks });
      await this.accepted(work);
    } catch (error) {
      if (!(error instanceof Refusal)) throw error;
      // The desk has forgotten what it had: from the beginning.
      if (error.status === 404 && work.upload) {
        await this.note(work, { upload: "", have: 0 });
        throw error;
      }
      if (error.status === 403 && error.code === "token") throw error;
      if (forGood.includes(error.status) || error.status === 403) await this.note(work, { trouble: error.message });
      else throw error;
    }
  }
  private async accepted(work: Work) {
    await dropWork(work);
    this.away = "";
    this.changed(work, true);
  }
  private async begin(work: Work) {
    const made = await send<Have>("POST", "mine/uploads", { assignment: work.assignment, type: work.type, bytes: work.bytes });
    await this.note(work, { upload: made.upload!, have: made.have });
  }
  private async has(work: Work) { return (await get<Have>(`mine/uploads/${work.upload}`)).have; }
  private async part(work: Work, sound: Blob): Promise<number> {
    try {
      const part = sound.slice(work.have, work.have + part_bytes, work.type);
      return (await send<Have>("PUT", `mine/uploads/${work.upload}`, part, { offset: work.have })).have;
    } catch (error) {
      const have = error instanceof Refusal && error.status === 409 ? await this.has(work) : work.have;
      if (have === work.have) throw error;
      return have;
    }
  }
}
