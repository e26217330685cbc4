// Why there is no sound to record, by the names that browsers have for it, and what to do about it.
import type { Key } from "./words";

const known: Record<string, Key> = {
  NotFoundError: "microphone_missing", OverconstrainedError: "microphone_missing",
  NotAllowedError: "microphone_forbidden", SecurityError: "microphone_forbidden",
  NotReadableError: "microphone_taken", AbortError: "microphone_taken",
};
export const noMicrophone = (error: Error): Key => known[error.name] ?? "no_microphone";
