// The edges set by hand in a take: kept with the desk at once, and taken back step by step.
import { useEffect, useRef, useState } from "preact/hooks";
import { get, send } from "../api";
import type { Pin } from "./types";

export function usePins(take: string, fail: (error: Error) => void) {
  const [pins, setPins] = useState<Pin[] | null>(null);
  const [past, setPast] = useState<Pin[][]>([]);
  const turn = useRef(Promise.resolve());
  useEffect(() => { get<{ pins: Pin[] }>(`takes/${take}/pins`).then((found) => setPins(found.pins), fail); }, [take]);
  // One after the other, so that the last one set is the one kept.
  const keep = (next: Pin[]) => {
    setPins(next);
    turn.current = turn.current.then(() => send("PUT", `takes/${take}/pins`, { pins: next })).then(() => {}, fail);
  };
  const pin = (one: Pin) => {
    if (!pins) return;
    setPast([...past, pins]);
    keep([...pins.filter((other) => other.at !== one.at || (other.sound ?? 0) !== (one.sound ?? 0)), one].sort((a, b) => a.ms - b.ms));
  };
  const undo = () => {
    const before = past.at(-1);
    if (!before) return;
    setPast(past.slice(0, -1));
    keep(before);
  };
  return { pins, pin, undo, moved: past.length };
}
