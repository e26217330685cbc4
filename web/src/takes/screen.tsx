// Takes: record or upload, see what became of them, open one.
import { useEffect, useState } from "preact/hooks";
import { get, send } from "../api";
import { go, remember, remembered, useDesk, type Place } from "../desk";
import { told } from "../told";
import { Recorder } from "./record";
import { OneTake, State } from "./take";
import { clock, type Job, type Take, type Uses } from "./types";

export function TakesScreen({ place }: { place: Place }) {
  const { t, lang } = useDesk();
  const [takes, setTakes] = useState<Take[] | null>(null);
  const [jobs, setJobs] = useState<Record<string, Job>>({});
  const [trouble, setTrouble] = useState("");
  const [passage, setPassage] = useState(remembered("passage") ?? "67:1-5");
  const [name, setName] = useState("");
  const [bare, setBare] = useState(() => remembered("no-basmala") === "1");
  const [sending, setSending] = useState(false);
  const fail = (error: Error) => setTrouble(error.message);
  // Who counts on it is said before it goes.
  const remove = async (take: Take) => {
    try {
      const uses = await get<Uses>(`takes/${take.id}/uses`);
      const named = (of: { title: string }[]) => of.map((one) => `“${one.title}”`).join(lang === "ar" ? "، " : ", ");
      const said = [`${t("remove_sure")} ${take.name || take.title}`];
      if (uses.lessons.length) said.push(`${t("used_in_lessons")} ${named(uses.lessons)}. ${t("used_then")}`);
      if (uses.assignments.length) said.push(`${t("used_in_work")} ${named(uses.assignments)}.`);
      if (confirm(said.join("\n\n"))) await send("DELETE", `takes/${take.id}`);
    } catch (error) { fail(error as Error); }
  };

  useEffect(() => {
    const load = () => void get<{ takes: Take[] }>("takes").then((found) => setTakes(found.takes), fail);
    load();
    let first = true;
    return told({
      // After a broken line, what was said meanwhile is asked for.
      hello: (now: { jobs: Job[] }) => {
        setJobs(Object.fromEntries(now.jobs.map((job) => [job.id, job])));
        if (!first) load();
        first = false;
      },
      job: (job: Job) => setJobs((all) => ({ ...all, [job.id]: job })),
      take: (take: Take) => setTakes((all) => all && [...(take.gone || all.some((one) => one.id === take.id) ? [] : [take]),
        ...all.flatMap((one) => one.id !== take.id ? [one] : take.gone ? [] : [take])]),
    });
  }, []);

  const upload = async (sound: Blob, named: string) => {
    setTrouble("");
    setSending(true);
    try {
      const take = await send<Take>("POST", "takes", sound, { name: named, passage, listen: 1, no_basmala: bare ? 1 : null });
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
      <label class="family"><input type="checkbox" checked={bare} onChange={() => { setBare(!bare); remember("no-basmala", bare ? "0" : "1"); }} />{t("no_basmala")}</label>
      <Recorder done={(sound) => void upload(sound, name)} />
      <label class="file"><span class="button">{t("or_file")}</span><input class="unseen" type="file" accept="audio/*,video/*" disabled={sending} onChange={(event) => {
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
        void remove(take);
      }}>{t("remove")}</button>
    </li>)}</ol>
  </div>;
}
