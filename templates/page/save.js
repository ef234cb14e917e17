// Saving into files that were opened here, where the browser allows it; else downloads.

import { download, notice } from "./dom.js";

/** Opened files that the browser lets the page write to, by name. */
export const writable = new Map();

/** Saves a text into the file that was opened under this name; else it is downloaded. */
export async function saveText(name, text) {
  const file = writable.get(name);
  try {
    if (!file) throw new Error("not opened here");
    const stream = await file.createWritable();
    await stream.write(text);
    await stream.close();
    notice("saved", "good", `Saved into ${name}.`);
  } catch {
    download(name, text, "application/toml");
  }
}
