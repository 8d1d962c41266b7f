import { beforeAll } from 'vitest';
import { answer } from '../../../src/storage/database';
import { withoutDisk } from '../../../src/storage/without-disk';

// Modules are loaded once for all files, and with them the store in memory: each file begins with an empty one.
beforeAll(async () => {
  const memory = withoutDisk();
  if (!memory) return;
  const keys = await memory.database.read(store => answer(store.getAllKeys()));
  await memory.database.write(async store => {
    for (const key of keys) await answer(store.delete(key));
  });
  for (const key of keys) if (Array.isArray(key)) for (const part of key) await memory.files.remove(String(part));
});
