/** Everything the page keeps, as plain data. Runs inside the page, so it uses nothing from outside itself. */
export async function dumpStore() {
  const encode = (value: unknown): unknown => {
    if (ArrayBuffer.isView(value)) {
      return { typedArray: value.constructor.name, values: [...(value as unknown as Iterable<number>)] };
    }
    if (Array.isArray(value)) return value.map(encode);
    if (value === null || typeof value !== 'object') return value;
    return Object.fromEntries(Object.entries(value).map(([k, v]) => [k, encode(v)]));
  };
  const answer = <T>(request: IDBRequest<T>) =>
    new Promise<T>((resolve, reject) => {
      request.onsuccess = () => resolve(request.result);
      request.onerror = () => reject(request.error);
    });
  const database = await answer(indexedDB.open('beat-ledger'));
  const store = database.transaction('records').objectStore('records');
  const [keys, values] = await Promise.all([answer(store.getAllKeys()), answer(store.getAll())]);
  database.close();
  const files: { path: string[]; base64: string }[] = [];
  const occurrences = async (folder: FileSystemDirectoryHandle, path: string[]): Promise<void> => {
    for await (const entry of folder.values()) {
      if (entry.kind === 'directory') await occurrences(entry, [...path, entry.name]);
      else {
        const bytes = new Uint8Array(await (await entry.getFile()).arrayBuffer());
        files.push({
          path: [...path, entry.name],
          base64: btoa(Array.from(bytes, b => String.fromCharCode(b)).join('')),
        });
      }
    }
  };
  await occurrences(await navigator.storage.getDirectory(), []);
  return { records: keys.map((key, i) => ({ key, value: encode(values[i]) })), files };
}

export type StoreDump = Awaited<ReturnType<typeof dumpStore>>;

/** Puts a dump where the page will look for it, without the page's own code. Runs inside an empty page of the origin. */
export async function fillStore({ records, files }: StoreDump) {
  const decode = (value: unknown): unknown => {
    if (Array.isArray(value)) return value.map(decode);
    if (value === null || typeof value !== 'object') return value;
    const { typedArray, values } = value as { typedArray?: string; values?: number[] };
    if (typedArray) return new (globalThis as unknown as Record<string, Int32ArrayConstructor>)[typedArray]!(values!);
    return Object.fromEntries(Object.entries(value).map(([k, v]) => [k, decode(v)]));
  };
  const asked = indexedDB.open('beat-ledger');
  asked.onupgradeneeded = () => asked.result.createObjectStore('records');
  await new Promise(done => {
    asked.onsuccess = done;
  });
  const work = asked.result.transaction('records', 'readwrite');
  for (const { key, value } of records) work.objectStore('records').put(decode(value), key);
  await new Promise(done => {
    work.oncomplete = done;
  });
  asked.result.close();
  for (const { path, base64 } of files) {
    let folder = await navigator.storage.getDirectory();
    for (const name of path.slice(0, -1)) folder = await folder.getDirectoryHandle(name, { create: true });
    const stream = await (await folder.getFileHandle(path.at(-1)!, { create: true })).createWritable();
    await stream.write(Uint8Array.from(atob(base64), c => c.charCodeAt(0)));
    await stream.close();
  }
}
