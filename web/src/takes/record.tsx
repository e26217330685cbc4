// Recording in the browser. What calls need (echo cancelled, noise taken away, gain turned) ruins the
// evidence of nose and length: it is switched off, and said where the browser does not obey.
import { useEffect, useRef, useState } from "preact/hooks";
import { remember, remembered, useDesk } from "../desk";
import { noMicrophone } from "../microphone";
import { clock } from "./types";

const beats = 4;
// A short tone for each count, the first one higher; all of it is over before the recording begins.
function countIn(sound: AudioContext, perMinute: number, seen: (beat: number) => void): Promise<void> {
  const each = 60 / perMinute, from = sound.currentTime + 0.1;
  for (let beat = 0; beat < beats; beat++) {
    const tone = sound.createOscillator(), gain = sound.createGain(), at = from + beat * each;
    tone.frequency.value = beat === 0 ? 1175 : 880;
    gain.gain.setValueAtTime(0.25, at);
    gain.gain.exponentialRampToValueAtTime(0.001, at + 0.08);
    tone.connect(gain).connect(sound.destination);
    tone.start(at);
    tone.stop(at + 0.09);
  }
  return new Promise((done) => {
    const look = () => {
      const beat = Math.floor((sound.currentTime - from) / each);
      seen(Math.max(0, Math.min(beats, beat + 1)));
      if (beat < beats) requestAnimationFrame(look);
      else done();
    };
    look();
  });
}

const spoils = ["echoCancellation", "noiseSuppression", "autoGainControl"] as const;

// `piece`: told each second what was recorded in it, for keeping it at once. `plain`: no count-in.
export function Recorder(props: {
  done: (sound: Blob) => void; piece?: (bytes: Blob) => void; begun?: () => void; plain?: boolean; begin?: string; disabled?: boolean;
}) {
  const { t } = useDesk();
  const [state, setState] = useState<"idle" | "asking" | "counting" | "recording">("idle");
  const [trouble, setTrouble] = useState("");
  const [kept, setKept] = useState<string[]>([]);
  const [level, setLevel] = useState(0);
  const [clipped, setClipped] = useState(false);
  const [seconds, setSeconds] = useState(0);
  const [counts, setCounts] = useState(() => remembered("count-in") === "1");
  const [pace, setPace] = useState(() => Number(remembered("pace")) || 120);
  const [beat, setBeat] = useState(0);
  const gone = useRef(false);
  const stop = useRef<(() => void) | null>(null);
  useEffect(() => () => { gone.current = true; stop.current?.(); }, []);

  const begin = async () => {
    setTrouble("");
    setClipped(false);
    setSeconds(0);
    if (!navigator.mediaDevices || !window.MediaRecorder) { setTrouble(t("no_microphone")); return; }
    setState("asking");
    try {
      const stream = await navigator.mediaDevices.getUserMedia({
        audio: { echoCancellation: false, noiseSuppression: false, autoGainControl: false, channelCount: 1 },
      });
      const settings = stream.getAudioTracks()[0]!.getSettings();
      setKept(spoils.filter((name) => settings[name] !== false));
      const sound = new AudioContext(), analyser = sound.createAnalyser();
      analyser.fftSize = 2048;
      sound.createMediaStreamSource(stream).connect(analyser);
      if (counts && !props.plain) {
        setState("counting");
        await countIn(sound, pace, setBeat);
        if (gone.current) { stream.getTracks().forEach((track) => track.stop()); void sound.close(); return; }
      }
      const samples = new Float32Array(analyser.fftSize), since = performance.now();
      const watch = setInterval(() => {
        analyser.getFloatTimeDomainData(samples);
        const peak = samples.reduce((most, sample) => Math.max(most, Math.abs(sample)), 0);
        setLevel(peak);
        if (peak > 0.985) setClipped(true);
        setSeconds((performance.now() - since) / 1000);
      }, 80);
      const parts: Blob[] = [];
      const recorder = new MediaRecorder(stream, { audioBitsPerSecond: 192_000 });
      recorder.ondataavailable = (event) => { parts.push(event.data); props.piece?.(event.data); };
      recorder.onstop = () => {
        clearInterval(watch);
        stream.getTracks().forEach((track) => track.stop());
        void sound.close();
        stop.current = null;
        setState("idle");
        setLevel(0);
        props.done(new Blob(parts, { type: recorder.mimeType.split(";")[0]! }));
      };
      stop.current = () => { if (recorder.state !== "inactive") recorder.stop(); };
      recorder.start(1000);
      props.begun?.();
      setState("recording");
    } catch (error) {
      setState("idle");
      setTrouble(t(noMicrophone(error as Error)));
    }
  };
  return <div class="recorder">
    {/* One button all the time, never taken from under the hand: what began it by key ends it by key. */}
    <button type="button" disabled={state === "idle" && props.disabled} aria-disabled={state === "asking" || state === "counting"}
      onClick={() => { if (state === "recording") stop.current?.(); else if (state === "idle") void begin(); }}>
      {state === "recording" ? `${t("stop_recording")} ${clock(seconds)}` : props.begin ?? t("record")}</button>
    {state === "idle" && !props.plain && <p class="row">
      <label class="family"><input type="checkbox" checked={counts} onChange={() => { setCounts(!counts); remember("count-in", counts ? "0" : "1"); }} />{t("count_in")}</label>
      {counts && <label class="family">{t("pace")}<input type="number" min={40} max={300} step={5} value={pace} onChange={(event) => {
        const next = Math.max(40, Math.min(300, Number(event.currentTarget.value) || 120));
        setPace(next);
        remember("pace", String(next));
      }} /></label>}</p>}
    {state === "counting" && <p role="status"><span class="count-in">{beat || ""}</span> <span class="faint">{t("get_ready")}</span></p>}
    {state === "recording" && <div class="level" role="img" aria-label={t("level")}>
      <i style={{ inlineSize: `${Math.min(100, Math.sqrt(level) * 100)}%` }} /></div>}
    {clipped && <p class="trouble" role="alert">{t("clipped")}</p>}
    {kept.length > 0 && <p class="trouble" role="alert">{t("browser_refuses")} <bdi>{kept.join(", ")}</bdi></p>}
    {trouble && <p class="trouble" role="alert">{trouble}</p>}
  </div>;
}
