// Recording in the browser. What calls need (echo cancelled, noise taken away, gain turned) ruins the
// evidence of nose and length: it is switched off, and said where the browser does not obey.
import { useEffect, useRef, useState } from "preact/hooks";
import { useDesk } from "../desk";
import { clock } from "./types";

const spoils = ["echoCancellation", "noiseSuppression", "autoGainControl"] as const;

export function Recorder(props: { done: (sound: Blob) => void }) {
  const { t } = useDesk();
  const [state, setState] = useState<"idle" | "asking" | "recording">("idle");
  const [trouble, setTrouble] = useState("");
  const [kept, setKept] = useState<string[]>([]);
  const [level, setLevel] = useState(0);
  const [clipped, setClipped] = useState(false);
  const [seconds, setSeconds] = useState(0);
  const stop = useRef<(() => void) | null>(null);
  useEffect(() => () => stop.current?.(), []);

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
      recorder.ondataavailable = (event) => parts.push(event.data);
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
      setState("recording");
    } catch (error) {
      setState("idle");
      setTrouble(`${t("no_microphone")} (${(error as Error).message})`);
    }
  };
  return <div class="recorder">
    {state === "recording"
      ? <button type="button" onClick={() => stop.current?.()}>{t("stop_recording")} {clock(seconds)}</button>
      : <button type="button" disabled={state === "asking"} onClick={() => void begin()}>{t("record")}</button>}
    {state === "recording" && <div class="level" role="img" aria-label={t("level")}>
      <i style={{ inlineSize: `${Math.min(100, Math.sqrt(level) * 100)}%` }} /></div>}
    {clipped && <p class="trouble" role="alert">{t("clipped")}</p>}
    {kept.length > 0 && <p class="trouble" role="alert">{t("browser_refuses")} <bdi>{kept.join(", ")}</bdi></p>}
    {trouble && <p class="trouble" role="alert">{trouble}</p>}
  </div>;
}
