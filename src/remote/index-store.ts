import { bodyOf, createHttpStore } from './http-store';
import { RemoteError } from './remote-error';
import type { Connection, RemoteEntry, RemoteStore } from './remote-store';
import { createRequester, type Requester } from './requests';
import { restedTag, serverTime } from './rested';

/** A store on a server that lists folders as JSON, such as nginx with `autoindex_format json`. */
export function indexStore(connection: Connection): RemoteStore {
  return createHttpStore(createRequester(connection), list);
}

interface IndexRow {
  readonly name: string;
  readonly type: 'file' | 'directory';
  /** An HTTP date. */
  readonly mtime?: string;
}

async function list(request: Requester, path: string): Promise<readonly RemoteEntry[] | null> {
  const response = await request({ method: 'GET', path });
  const what = `GET ${path}`;
  if (response.status === 404) return null;
  if (response.status !== 200) throw new RemoteError('unexpected', `${what} ${response.status}`);
  const now = serverTime(response);
  return entriesOf(new TextDecoder().decode(await bodyOf(response, what)), what, now);
}

function entriesOf(text: string, what: string, now: number): RemoteEntry[] {
  let rows: unknown;
  try {
    rows = JSON.parse(text);
  } catch {
    rows = null;
  }
  if (!Array.isArray(rows) || !rows.every(isRow)) throw new RemoteError('unexpected', `${what}: no listing`);
  return (
    rows
      // Times are whole seconds: they tell only of what has rested.
      .map(({ name, type, mtime = '' }) => ({
        name,
        isFolder: type === 'directory',
        tag: restedTag(mtime, mtime, now),
      }))
      .sort((a, b) => (a.name < b.name ? -1 : 1))
  );
}

function isRow(value: unknown): value is IndexRow {
  const row = value as Partial<IndexRow> | null;
  return typeof row?.name === 'string' && (row.type === 'file' || row.type === 'directory');
}
