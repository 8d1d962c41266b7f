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

/** An answer's beginning, or one of the three elements of it that are read, with its text. */
const element = /<(?:[\w-]+:)?(response|href|getetag|getlastmodified)(?=[\s>])[^>]*>([^<]*)/g;

/** What stands in one response of a multistatus body, still escaped. */
interface Written {
  href: string;
  getetag: string;
  getlastmodified: string;
}

/**
 * Names and tags of a multistatus body. It is read by pattern, as workers and Node have no DOMParser; a server writes
 * each href as an escaped path, so that no markup can stand in it. In one pass: a large study has tens of thousands.
 */
function entriesOf(xml: string, folder: string, now: number): RemoteEntry[] {
  if (!/<(?:[\w-]+:)?multistatus[\s>]/.test(xml)) throw new RemoteError('unexpected', `PROPFIND ${folder}: no listing`);
  const [own, ...others] = responsesIn(xml);
  const base = own && pathOf(own);
  // The folder itself comes first.
  if (!base?.endsWith(`/${folder}`)) throw new RemoteError('unexpected', `PROPFIND ${folder}: another folder`);
  const entries: RemoteEntry[] = [];
  for (const written of others) {
    const path = pathOf(written);
    if (!path.startsWith(base)) continue;
    const isFolder = path.endsWith('/');
    const name = isFolder ? path.slice(base.length, -1) : path.slice(base.length);
    entries.push({ name, isFolder, tag: restedTag(unescaped(written.getetag), written.getlastmodified, now) });
  }
  return entries.sort((a, b) => (a.name < b.name ? -1 : 1));
}

function responsesIn(xml: string): Written[] {
  const found: Written[] = [];
  let current: Written | undefined;
  for (const [, name, text] of xml.matchAll(element)) {
    if (name === 'response') {
      current = { href: '', getetag: '', getlastmodified: '' };
      found.push(current);
    } else if (current && current[name as keyof Written] === '') current[name as keyof Written] = text!.trim();
  }
  return found;
}

function pathOf({ href }: Written): string {
  const path = unescaped(href);
  const own = path.startsWith('/') ? path : path.replace(/^https?:\/\/[^/]*/, '');
  return own.includes('%') ? decodeURIComponent(own) : own;
}

function unescaped(text: string): string {
  if (!text.includes('&')) return text;
  return text.replaceAll('&quot;', '"').replaceAll('&lt;', '<').replaceAll('&gt;', '>').replaceAll('&amp;', '&');
}
