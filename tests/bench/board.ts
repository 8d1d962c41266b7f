import { listStudy } from '../../src/remote/study-listing';
import { webdavStore } from '../../src/remote/webdav-store';
import { newBoardMemory, readBoard } from '../../src/state/sharing/board';
import { nothingStored } from '../../src/state/sharing/board-line';
import { type Bench, type Figure, medianWorkMs } from './measure';

const raters = Array.from({ length: 300 }, (_, i) => `P${i}`);
const sessions = Array.from({ length: 100 }, (_, i) => `V${i}-am`);
const base = 'https://lab.example/study/trial-1/';
const assignedAt = '2026-02-14T10:00:00Z';
const nobody = { sessions: async () => [], session: async () => null };

export const boardBench: Bench = {
  name: 'board',
  says: 'a look at a lab store of 300 raters with 100 sessions each that stands as it was: our own work on its 306 listings, without the server’s',
  async run(): Promise<readonly Figure[]> {
    const store = webdavStore({ base, account: null, fetch: answering(listings()) });
    const memory = newBoardMemory();
    const listing = await listStudy(store, memory.folders);
    for (const { rater, session, path } of listing.assignments) {
      const listed = listing.logOf(rater, session);
      const assignment = { session, manifest: '0'.repeat(64), place: 'first', due: null, assignedAt } as const;
      const state = `${listed.tag} not kept`;
      memory.assignments.set(path, assignment);
      memory.titles.set(session, session);
      memory.known.set(path, { path, rater, assignment, listed, state, summary: nothingStored });
    }
    const looks: number[] = [];
    // The first makes the lines and compiles.
    for (let look = 0; look < 8; look++) {
      const before = process.cpuUsage();
      const lines = await readBoard(nobody, { remote: store }, memory);
      const { user, system } = process.cpuUsage(before);
      if (lines.length !== raters.length * sessions.length) throw new Error(`${lines.length} lines`);
      looks.push((user + system) / 1000);
    }
    const best = Math.min(...looks);
    const words = new Int16Array(86_400_000);
    const pass = medianWorkMs(5, () => {
      let sum = 0;
      for (let i = 0; i < words.length; i++) sum += words[i]!;
      if (sum !== 0) throw new RangeError('the words are all 0');
    });
    return [
      { of: '300 raters x 100 sessions, all as it was', value: best, unit: 'ms', limit: 1000 },
      { of: 'that / summing 86.4 M int16', value: best / pass, unit: 'x', limit: null },
    ];
  },
};

/** Bodies by path, as Apache httpd 2.4 writes them. */
function listings(): ReadonlyMap<string, Uint8Array<ArrayBuffer>> {
  const found = new Map<string, Uint8Array<ArrayBuffer>>();
  const put = (path: string, names: readonly string[]) => {
    const text = [path, ...names.map(name => path + name)].map(response).join('');
    const body = `<?xml version="1.0" encoding="utf-8"?>\n<D:multistatus xmlns:D="DAV:" xmlns:ns0="DAV:">\n${text}</D:multistatus>\n`;
    found.set(path, new TextEncoder().encode(body));
  };
  for (const top of ['assign', 'logs', 'done', 'after']) {
    put(
      `${top}/`,
      raters.map(r => `${r}/`),
    );
    const files = { assign: sessions.map(s => `${s}.json`), logs: sessions.map(s => `${s}/`) }[top] ?? [];
    for (const rater of raters) put(`${top}/${rater}/`, files);
  }
  return found;
}

const response = (
  path: string,
) => `<D:response xmlns:lp1="DAV:" xmlns:lp2="http://apache.org/dav/props/" xmlns:g0="DAV:">
<D:href>/study/trial-1/${path}</D:href>
<D:propstat>
<D:prop>
<lp1:getetag>"1000-64a1f0c2${path.length.toString(16)}"</lp1:getetag>
<lp1:getlastmodified>Sat, 14 Feb 2026 09:00:00 GMT</lp1:getlastmodified>
</D:prop>
<D:status>HTTP/1.1 200 OK</D:status>
</D:propstat>
</D:response>
`;

function answering(bodies: ReadonlyMap<string, Uint8Array<ArrayBuffer>>): typeof fetch {
  return async url => {
    const body = bodies.get(String(url).slice(base.length));
    const headers = { date: 'Sat, 14 Feb 2026 10:00:00 GMT' };
    return body ? new Response(body, { status: 207, headers }) : new Response(null, { status: 404, headers });
  };
}
