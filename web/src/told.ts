// What the desk tells while its pages are open: one line a page for all who listen, since a browser
// keeps few connections to one desk. Who comes later is greeted with the work that is known by then.
import { get, type Session } from "./api";

interface Told { id: string; state: string; gone?: boolean }
type Heard = (data: never) => void; // of the shape docs/api.md gives the event
const again_ms = 10_000;

let source: EventSource | null = null, timer = 0, greeted = false;
const listeners = new Map<string, Set<Heard>>(), work = new Map<string, Told>();
const under_way = (job: Told) => job.state === "waiting" || job.state === "running";

function keep(name: string, data: unknown) {
  if (name === "hello") {
    greeted = true;
    work.clear();
    (data as { jobs: Told[] }).jobs.forEach((job) => work.set(job.id, job));
  } else if (name === "job") {
    const job = data as Told;
    if (!job.gone && under_way(job)) work.set(job.id, job);
    else work.delete(job.id);
  }
}
function hears(name: string) {
  source?.addEventListener(name, (event) => {
    const data = JSON.parse((event as MessageEvent<string>).data) as unknown;
    keep(name, data);
    [...listeners.get(name) ?? []].forEach((heard) => heard(data as never));
  });
}
function open() {
  source = new EventSource("/api/events");
  greeted = false;
  new Set(["hello", "job", ...listeners.keys()]).forEach(hears);
  // A line that broke comes back by itself; one that was refused does not. Where it was refused because
  // nobody is signed in any more the page ends; otherwise (too many lines) it is asked for again.
  source.addEventListener("error", () => {
    if (source?.readyState !== EventSource.CLOSED) return;
    source = null;
    clearTimeout(timer);
    const again = () => { timer = window.setTimeout(() => { if (listeners.size && !source) open(); }, again_ms); };
    get<Session>("session").then(({ signed_in }) => {
      if (signed_in) again();
      else window.dispatchEvent(new Event("signed-out"));
    }, again);
  });
}

// on: what to do at each kind of event. "hello" comes at the beginning and after a broken line, with
// the work under way: what may have been missed is asked for then. Answers how to stop listening.
export function told(on: Record<string, Heard>): () => void {
  for (const [name, heard] of Object.entries(on)) {
    const first = !listeners.has(name);
    if (first) listeners.set(name, new Set());
    listeners.get(name)!.add(heard);
    if (first && source && name !== "hello" && name !== "job") hears(name);
  }
  if (!source) open();
  let here = true;
  if (greeted && on.hello) queueMicrotask(() => { if (here) on.hello!({ jobs: [...work.values()] } as never); });
  return () => {
    here = false;
    for (const [name, heard] of Object.entries(on)) listeners.get(name)?.delete(heard);
    // The next screen may listen at once: the line is given up only when nobody does.
    setTimeout(() => {
      if ([...listeners.values()].some((set) => set.size)) return;
      source?.close();
      source = null;
      clearTimeout(timer);
      listeners.clear();
    }, 1000);
  };
}
