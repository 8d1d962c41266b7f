import { answer, type Database, valuesUnder } from './database';

/**
 * Small plain documents of one kind: settings, where a rater was, studies, practice results, batches handed out,
 * assignments received, and certificates of practice.
 */
export interface Collection<T> {
  get(...id: string[]): Promise<T | null>;
  put(value: T, ...id: string[]): Promise<void>;
  remove(...id: string[]): Promise<void>;
  list(): Promise<readonly T[]>;
}

/** `view` is keyed by session and rater, and goes when the session is deleted. */
export type CollectionKind =
  | 'setting'
  | 'view'
  | 'study'
  | 'practice'
  | 'import'
  | 'batch'
  | 'assignment'
  | 'certificate';

export function collection<T>(database: Database, kind: CollectionKind): Collection<T> {
  return {
    async get(...id) {
      const found = await database.read(store => answer(store.get([kind, ...id]) as IDBRequest<T | undefined>));
      return found ?? null;
    },
    put: (value, ...id) =>
      database.write(async store => {
        store.put(value, [kind, ...id]);
      }),
    remove: (...id) =>
      database.write(async store => {
        store.delete([kind, ...id]);
      }),
    list: () => database.read(store => valuesUnder<T>(store, kind)),
  };
}
