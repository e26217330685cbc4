// What the desk makes when asked is kept by the browser as a file.
import { file } from "../api";

export async function download(path: string, name: () => string | Promise<string>, method: "POST" | "GET" = "POST") {
  const made = URL.createObjectURL(await file(path, method)), link = document.createElement("a");
  link.href = made;
  link.download = await name();
  link.click();
  setTimeout(() => URL.revokeObjectURL(made), 60_000);
}
