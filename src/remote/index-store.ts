import { bodyOf, createHttpStore } from './http-store';
import { RemoteError } from './remote-error';
import type { Connection, RemoteEntry, RemoteStore } from './remote-store';
import { createRequester, type Requester } from './requests';

/** A store on a server that lists folders as JSON, such as nginx with `autoindex_format json`. */
export function indexStore(connection: Connection): RemoteStore {
  return createHttpStore(createRequester(connection), list);
}

interface IndexRow {
  readonly name: string;
  readonly type: 'file' | 'directory';
}

async function list(request: Requester, path: string): Promise<readonly RemoteEntry[] | null> {
  const response = await request({ method: 'GET', path });
  const what = `GET ${path}`;
  if (response.status === 404) return null;
  if (response.status !== 200) throw new RemoteError('unexpected', `${what} ${response.status}`);
  return entriesOf(new TextDecoder().decode(await bodyOf(response, what)), what);
}

function entriesOf(text: string, what: string): RemoteEntry[] {
  let rows: unknown;
  try {
    rows = JSON.parse(text);
  } catch {
    rows = null;
  }
  if (!Array.isArray(rows) || !rows.every(isRow)) throw new RemoteError('unexpected', `${what}: no listing`);
  return (
    rows
      // Its times are whole seconds, too coarse to tell that nothing was added.
      .map(({ name, type }) => ({ name, isFolder: type === 'directory', tag: '' }))
      .sort((a, b) => (a.name < b.name ? -1 : 1))
  );
}

function isRow(value: unknown): value is IndexRow {
  const row = value as Partial<IndexRow> | null;
  return typeof row?.name === 'string' && (row.type === 'file' || row.type === 'directory');
}
