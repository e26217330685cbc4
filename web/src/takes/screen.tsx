// Takes: record or upload, see what became of them, open one.
import { useEffect, useState } from "preact/hooks";
import { get, send } from "../api";
import { go, remembered, useDesk, type Place } from "../desk";
import { Recorder } from "./record";
import { OneTake, State } from "./take";
import { clock, type Job, type Take } from "./types";

export function TakesScreen({ place }: { place: Place }) {
  const { t, lang } = useDesk();
  const [takes, setTakes] = useState<Take[] | null>(null);
  const [jobs, setJobs] = useState<Record<string, Job>>({});
  const [trouble, setTrouble] = useState("");
  const [passage, setPassage] = useState(remembered("passage") ?? "67:1-5");
  const [name, setName] = useState("");
  const [sending, setSending] = useState(false);
  const fail = (error: Error) => setTrouble(error.message);

  useEffect(() => {
    get<{ takes: Take[] }>("takes").then((found) => setTakes(found.takes), fail);
    const events = new EventSource("/api/events");
    const of = <T,>(event: Event) => JSON.parse((event as MessageEvent<string>).data) as T;
    events.addEventListener("hello", (event) =>
      setJobs(Object.fromEntries(of<{ jobs: Job[] }>(event).jobs.map((job) => [job.id, job]))));
    events.addEventListener("job", (event) => { const job = of<Job>(event); setJobs((all) => ({ ...all, [job.id]: job })); });
    events.addEventListener("take", (event) => {
      const take = of<Take>(event);
      setTakes((all) => all && [...(take.gone || all.some((one) => one.id === take.id) ? [] : [take]),
        ...all.flatMap((one) => one.id !== take.id ? [one] : take.gone ? [] : [take])]);
    });
    return () => events.close();
  }, []);

  const upload = async (sound: Blob, named: string) => {
    setTrouble("");
    setSending(true);
    try {
      const take = await send<Take>("POST", "takes", sound, { name: named, passage, listen: 1 });
      setName("");
      go(`/takes/${take.id}`);
    } catch (error) { fail(error as Error); }
    setSending(false);
  };
  const open = takes?.find((take) => take.id === place.path[1]);
  if (place.path[1] && open) return <OneTake key={open.id} take={open} takes={takes!} from_ms={place.query.has("ms") ? Number(place.query.get("ms")) : null} job={open.job ? jobs[open.job] : undefined} />;
  return <div class="takes">
    <h1>{t("takes")}</h1>
    <p class="lead">{t("takes_lead")}</p>
    <div class="bar">
      <label>{t("passage")}<input type="text" dir="auto" value={passage} onInput={(event) => setPassage(event.currentTarget.value)} /></label>
      <label>{t("name")}<input type="text" dir="auto" value={name} onInput={(event) => setName(event.currentTarget.value)} /></label>
      <Recorder done={(sound) => void upload(sound, name)} />
      <label class="file">{t("or_file")}<input type="file" accept="audio/*,video/*" disabled={sending} onChange={(event) => {
        const file = event.currentTarget.files?.[0];
        if (file) void upload(file, name || file.name.replace(/\.[^.]*$/, ""));
        event.currentTarget.value = "";
      }} /></label>
    </div>
    {sending && <p role="status">{t("waiting")}</p>}
    {trouble && <p class="trouble" role="alert">{trouble}</p>}
    {place.path[1] && takes && <p class="trouble">{t("take_gone")}</p>}
    {takes?.length === 0 && <p class="faint">{t("no_takes")}</p>}
    <ol class="take-list">{takes?.map((take) => <li key={take.id}>
      <a href={`/takes/${take.id}`} onClick={(event) => { event.preventDefault(); go(`/takes/${take.id}`); }}>{take.name || take.title}</a>
      <span class="faint"><bdi>{take.title}</bdi> · <bdi>{clock(take.seconds)}</bdi> · <bdi>{new Date(take.made).toLocaleDateString(lang === "ar" ? "ar-u-nu-latn" : "en-GB")}</bdi></span>
      {take.chosen && <span class="chosen-take">{t("published")}</span>}
      <State take={take} job={take.job ? jobs[take.job] : undefined} />
      <button type="button" class="quiet" disabled={!!take.job} aria-label={`${t("remove")} ${take.name || take.title}`} onClick={() => {
        if (confirm(`${t("remove_sure")} ${take.name || take.title}`)) send("DELETE", `takes/${take.id}`).catch(fail);
      }}>{t("remove")}</button>
    </li>)}</ol>
  </div>;
}
