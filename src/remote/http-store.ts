import { RemoteError } from './remote-error';
import type { RemoteEntry, RemoteStore } from './remote-store';
import type { Requester } from './requests';

/** How a server lists a folder: the one thing in which servers differ. */
export type Lister = (request: Requester, path: string) => Promise<readonly RemoteEntry[] | null>;

/** A store behind PUT with `If-None-Match: *`, MKCOL and GET with Range (RFC 9110, RFC 4918). */
export function createHttpStore(request: Requester, list: Lister): RemoteStore {
  return {
    async create(path, body) {
      const headers = { 'if-none-match': '*', 'content-type': 'application/octet-stream' };
      const { status } = await request({ method: 'PUT', path, headers, body });
      if (status === 201) return 'created';
      if (status === 412) return 'exists';
      throw new RemoteError(status === 404 || status === 409 ? 'no folder' : 'unexpected', `PUT ${path} ${status}`);
    },
    async folder(path) {
      const { status } = await request({ method: 'MKCOL', path });
      // 405: it is there already.
      if (status === 201 || status === 405) return;
      throw new RemoteError(status === 404 || status === 409 ? 'no folder' : 'unexpected', `MKCOL ${path} ${status}`);
    },
    list: path => list(request, path),
    async read(path, range) {
      if (range && range.end <= range.start) return new Uint8Array(0);
      const headers = range ? { range: `bytes=${range.start}-${range.end - 1}` } : {};
      const response = await request({ method: 'GET', path, headers });
      if (response.status === 404) return null;
      // 416: the file ends before the range begins.
      if (response.status === 416) return new Uint8Array(0);
      if (response.status !== 200 && response.status !== 206) {
        throw new RemoteError('unexpected', `GET ${path} ${response.status}`);
      }
      const bytes = await bodyOf(response, `GET ${path}`);
      // A server may ignore Range and send everything.
      return range && response.status === 200 ? bytes.subarray(range.start, range.end) : bytes;
    },
  };
}

/** A connection may break while the body is on its way. */
export async function bodyOf(response: Response, what: string): Promise<Uint8Array> {
  try {
    return new Uint8Array(await response.arrayBuffer());
  } catch (error) {
    throw new RemoteError('offline', `${what}: ${error instanceof Error ? error.message : String(error)}`);
  }
}
