import { utf8ToBytes } from '@noble/hashes/utils.js';
import { RemoteError } from './remote-error';
import type { Connection } from './remote-store';

export interface RemoteRequest {
  readonly method: string;
  readonly path: string;
  readonly headers?: Readonly<Record<string, string>>;
  readonly body?: Uint8Array;
}

export type Requester = (request: RemoteRequest) => Promise<Response>;

/** A request that takes longer has lost its connection: 8 MB pass in this time at half a megabit a second. */
const timeoutMs = 120_000;
/** Waits before a busy server is asked again; the spread keeps writers from coming back together. */
const retryWaitsMs = [50, 100, 200, 400, 800, 1600];

/**
 * Sends requests for one account. Resolves with answers of a store; rejects with a RemoteError for those that say offline,
 * sign in, refused, full or busy. A busy server is asked again for about three seconds.
 */
export function createRequester(connection: Connection): Requester {
  return async request => {
    for (const waitMs of retryWaitsMs) {
      const response = await send(connection, request);
      if (![429, 502, 503].includes(response.status)) return checked(connection, request, response);
      await response.body?.cancel();
      await new Promise(resolve => setTimeout(resolve, waitMs * (0.5 + Math.random())));
    }
    return checked(connection, request, await send(connection, request));
  };
}

async function send({ base, account, fetch: custom }: Connection, request: RemoteRequest): Promise<Response> {
  const { method, path, headers, body } = request;
  const attempt = () =>
    (custom ?? globalThis.fetch)(base + encodedPath(path), {
      method,
      ...(body ? { body: body as Uint8Array<ArrayBuffer> } : {}),
      cache: 'no-store',
      // With 'omit' the browser opens no dialog of its own on 401, and sends no password that it remembers.
      credentials: account ? 'omit' : 'same-origin',
      redirect: 'error',
      signal: AbortSignal.timeout(timeoutMs),
      headers: { ...(account ? { authorization: basic(account.user, account.password) } : {}), ...headers },
    });
  try {
    // A connection kept from before may have been closed by the server; every request of a store may be repeated.
    return await attempt().catch(error => (error instanceof TypeError ? attempt() : Promise.reject(error)));
  } catch (error) {
    throw new RemoteError('offline', `${method} ${path}: ${error instanceof Error ? error.message : String(error)}`);
  }
}

async function checked(connection: Connection, request: RemoteRequest, response: Response): Promise<Response> {
  const { status } = response;
  const detail = `${request.method} ${request.path} ${status}`;
  if (status === 401 || status === 403) throw new RemoteError(await refusal(connection, request, status), detail);
  if (status === 507) throw new RemoteError('full', detail);
  if (status >= 500 || status === 408 || status === 429) throw new RemoteError('busy', detail);
  return response;
}

/**
 * Apache answers 401 also where it means 403, if the rule names the user. Whether the password holds is asked of the
 * account's own list of assignments, which every account may see or find missing.
 */
async function refusal(
  connection: Connection,
  { path }: RemoteRequest,
  status: number,
): Promise<'sign in' | 'refused'> {
  if (status === 403) return 'refused';
  const own = connection.account && `assign/${connection.account.user}/`;
  if (own === null || own === path) return 'sign in';
  const probe = await send(connection, { method: 'OPTIONS', path: own });
  return probe.status === 401 ? 'sign in' : 'refused';
}

/** RFC 7617 with UTF-8. */
function basic(user: string, password: string): string {
  return `Basic ${btoa(String.fromCharCode(...utf8ToBytes(`${user}:${password}`)))}`;
}

function encodedPath(path: string): string {
  return path.split('/').map(encodeURIComponent).join('/');
}
