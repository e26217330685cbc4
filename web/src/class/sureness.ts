// How sure the ear is, in words; the same bounds wherever it is said.
export type Sure = "sure_very" | "sure_fair" | "sure_not" | "sure_none";
export function sureness(share: number, trust = "good", told = ""): Sure {
  if (trust === "none") return "sure_none";
  if (told === "unsure") return "sure_not";
  return share >= 0.9 ? "sure_very" : share >= 0.7 ? "sure_fair" : "sure_not";
}
