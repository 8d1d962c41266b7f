import { bodyOf, createHttpStore } from './http-store';
import { RemoteError } from './remote-error';
import type { Connection, RemoteEntry, RemoteStore } from './remote-store';
import { createRequester, type Requester } from './requests';
import { restedTag, serverTime } from './rested';

/** A store on a WebDAV server (RFC 4918), such as Apache httpd with mod_dav. Runs in the page and in Node. */
export function webdavStore(connection: Connection): RemoteStore {
  return createHttpStore(createRequester(connection), list);
}

const propfind = '<?xml version="1.0"?><propfind xmlns="DAV:"><prop><getetag/><getlastmodified/></prop></propfind>';

async function list(request: Requester, path: string): Promise<readonly RemoteEntry[] | null> {
  const headers = { depth: '1', 'content-type': 'application/xml' };
  const response = await request({ method: 'PROPFIND', path, headers, body: new TextEncoder().encode(propfind) });
  const what = `PROPFIND ${path}`;
  if (response.status === 404) return null;
  if (response.status !== 207) throw new RemoteError('unexpected', `${what} ${response.status}`);
  const now = serverTime(response);
  return entriesOf(new TextDecoder().decode(await bodyOf(response, what)), path, now);
}

/**
 * Names and tags of a multistatus body. It is read by pattern, as workers and Node have no DOMParser; a server writes
 * each href as an escaped path, so that no markup can stand in it.
 */
function entriesOf(xml: string, folder: string, now: number): RemoteEntry[] {
  if (!/<(?:[\w-]+:)?multistatus[\s>]/.test(xml)) throw new RemoteError('unexpected', `PROPFIND ${folder}: no listing`);
  const [own, ...others] = xml
    .split(/<(?:[\w-]+:)?response[\s>]/)
    .slice(1)
    .map(xml => entryOf(xml, now));
  // The folder itself comes first.
  if (!own?.path.endsWith(`/${folder}`)) throw new RemoteError('unexpected', `PROPFIND ${folder}: another folder`);
  return others
    .filter(({ path }) => path.startsWith(own.path))
    .map(({ path, tag }) => ({
      name: path.slice(own.path.length).replace(/\/$/, ''),
      isFolder: path.endsWith('/'),
      tag,
    }))
    .sort((a, b) => (a.name < b.name ? -1 : 1));
}

function entryOf(xml: string, now: number): { readonly path: string; readonly tag: string } {
  const href = unescaped(/<(?:[\w-]+:)?href[^>]*>([^<]*)</.exec(xml)?.[1]?.trim() ?? '');
  const tag = unescaped(/<(?:[\w-]+:)?getetag[^>]*>([^<]*)</.exec(xml)?.[1] ?? '');
  const modified = /<(?:[\w-]+:)?getlastmodified[^>]*>([^<]*)</.exec(xml)?.[1] ?? '';
  return { path: decodeURIComponent(href.replace(/^https?:\/\/[^/]*/, '')), tag: restedTag(tag, modified, now) };
}

function unescaped(text: string): string {
  return text.replaceAll('&quot;', '"').replaceAll('&lt;', '<').replaceAll('&gt;', '>').replaceAll('&amp;', '&');
}
