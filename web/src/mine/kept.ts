// What a learner recorded and marked, kept on their own device until the desk has accepted it: a
// closed tab, an empty battery, a line that breaks lose nothing. Sound is written down second by
// second while it is recorded.
export interface Mark { at: string; mark: "unsure" | "wrong" }
// One stretch of recording. `of`: the whole passage (""), or one verse. Kept in pieces.
export interface Part { id: string; of: string; type: string; pieces: number; seconds: number; done: boolean }
export interface Work {
  id: string; person: string; assignment: string; title: string; made_ms: number;
  parts: Part[]; marks: Mark[];
  // Handed in: the sound is one now, and on its way. `upload`: the desk's name for it; `have`: bytes it has.
  handed: boolean; type: string; bytes: number; upload: string; have: number; trouble: string;
}

const name = "mistara-mine", works = "works", pieces = "pieces", sounds = "sounds";
let opened: Promise<IDBDatabase> | null = null;

function open(): Promise<IDBDatabase> {
  opened ??= new Promise((resolve, reject) => {
    const asked = indexedDB.open(name, 1);
    asked.onupgradeneeded = () => {
      asked.result.createObjectStore(works, { keyPath: "id" });
      asked.result.createObjectStore(pieces);
      asked.result.createObjectStore(sounds);
    };
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => { opened = null; reject(asked.error); };
  });
  return opened;
}

// All of it or nothing, and on the disk when it resolves.
async function within<T>(stores: string[], mode: IDBTransactionMode, doing: (tx: IDBTransaction) => IDBRequest<T> | void): Promise<T> {
  const db = await open();
  return new Promise((resolve, reject) => {
    const tx = db.transaction(stores, mode, { durability: "strict" }), asked = doing(tx);
    tx.oncomplete = () => resolve(asked ? asked.result : undefined as T);
    tx.onerror = tx.onabort = () => reject(tx.error);
  });
}

const piecesOf = (part: string) => IDBKeyRange.bound([part, 0], [part, Infinity]);

export const allWorks = (person: string) => within<Work[]>([works], "readonly", (tx) => tx.objectStore(works).getAll())
  .then((all) => all.filter((one) => one.person === person).sort((a, b) => a.made_ms - b.made_ms));
export const putWork = (work: Work) => within([works], "readwrite", (tx) => { tx.objectStore(works).put(work); });

// The next second of a part, together with what is known of it.
export const addPiece = (work: Work, part: Part, n: number, bytes: ArrayBuffer) => within([works, pieces], "readwrite", (tx) => {
  tx.objectStore(pieces).put(bytes, [part.id, n]);
  tx.objectStore(works).put(work);
});
export const dropPart = (work: Work, part: string) => within([works, pieces], "readwrite", (tx) => {
  tx.objectStore(pieces).delete(piecesOf(part));
  tx.objectStore(works).put(work);
});
export const partSound = async (part: Part) => new Blob(
  await within<ArrayBuffer[]>([pieces], "readonly", (tx) => tx.objectStore(pieces).getAll(piecesOf(part.id))), { type: part.type });

// From many parts to the one sound that is handed in.
export const putSound = (work: Work, sound: ArrayBuffer) => within([works, pieces, sounds], "readwrite", (tx) => {
  for (const part of work.parts) tx.objectStore(pieces).delete(piecesOf(part.id));
  tx.objectStore(sounds).put(sound, work.id);
  tx.objectStore(works).put(work);
});
export const workSound = async (work: Work) => new Blob(
  [(await within<ArrayBuffer | undefined>([sounds], "readonly", (tx) => tx.objectStore(sounds).get(work.id))) ?? new ArrayBuffer(0)], { type: work.type });

export const dropWork = (work: Work) => within([works, pieces, sounds], "readwrite", (tx) => {
  for (const part of work.parts) tx.objectStore(pieces).delete(piecesOf(part.id));
  tx.objectStore(sounds).delete(work.id);
  tx.objectStore(works).delete(work.id);
});

export const newId = () => Array.from(crypto.getRandomValues(new Uint8Array(10)), (byte) => byte.toString(36).padStart(2, "0")).join("").slice(0, 16);

// A browser may throw away what it has not been asked to keep.
export const askToKeep = () => { void navigator.storage?.persist?.().catch(() => {}); };
