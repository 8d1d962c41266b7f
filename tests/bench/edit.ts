import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { type BrowserContext, expect, type Page } from '@playwright/test';
import { fileRow, giveFiles, keepAndOpen, writeLongEdf } from '../browser/import-page';
import { goTo, ready, saved } from '../browser/page';
import { endServer, startServer } from '../servers';
import { answering, freePort, withProfile } from './browser';
import type { Bench, Figure } from './measure';

const root = join(import.meta.dirname, '../..');
const edits = 60;
/** Half a frame: the other half is left for drawing. */
const mostCountsMs = 8;
const viewport = { width: 1440, height: 900 };

/** Of one key: until the ledger holds the new counts, until the entry is on disk, and until nothing is left to draw. */
interface Timed {
  readonly countsMs: number;
  readonly savedMs: number;
}

export const editBench: Bench = {
  name: 'edit',
  says: 'one key in the built page that removes a mark or takes that back: until the counts in the ledger are new, and until it is saved',
  async run() {
    const built = spawnSync('npx', ['vite', 'build'], { cwd: root, encoding: 'utf8' });
    if (built.status !== 0) throw new Error(built.stderr);
    const port = await freePort();
    const server = startServer('npx', ['vite', 'preview', '--port', String(port), '--strictPort'], { cwd: root });
    const folder = mkdtempSync(join(tmpdir(), 'edit-bench-'));
    try {
      const baseURL = `http://localhost:${port}`;
      await answering(baseURL);
      const figures: Figure[] = [];
      const found: { counts: number; saved: number }[] = [];
      for (const hours of [1, 6, 24]) {
        const path = join(folder, `${hours}h.edf`);
        const beats = await writeLongEdf(path, hours, 125, 1, true);
        const atSeconds = (beats[beats.length >> 1]! + 1) / 125;
        const { early, timed } = await withProfile({ baseURL, viewport }, context =>
          timeEdits(context, path, atSeconds),
        );
        const of = `${hours} h, ${beats.length} marks`;
        found.push({ counts: median(timed.map(t => t.countsMs)), saved: median(timed.map(t => t.savedMs)) });
        const { counts, saved } = found.at(-1)!;
        const limit = hours === 24 ? mostCountsMs : null;
        figures.push({ of: `${of}: counts`, value: counts, unit: 'ms', limit });
        figures.push({ of: `${of}: saved`, value: saved, unit: 'ms', limit: null });
        const busy = median(early.map(t => t.savedMs));
        figures.push({ of: `${hours} h: saved while looked through`, value: busy, unit: 'ms', limit: null });
      }
      const growth = found.at(-1)!.saved / found[0]!.saved;
      figures.push({ of: 'saved, 24 h against 1 h', value: growth, unit: 'x', limit: 1.3 });
      return figures;
    } finally {
      endServer(server);
      rmSync(folder, { recursive: true, force: true });
    }
  },
};

/** `early`: of the first keys, while a worker may still go through the signal on the other core. */
async function timeEdits(
  context: BrowserContext,
  path: string,
  atSeconds: number,
): Promise<{ early: Timed[]; timed: Timed[] }> {
  const page = await context.newPage();
  await giveFiles(page, path);
  await fileRow(page, path.split('/').at(-1)!).waitFor();
  await page.getByRole('button', { name: 'Read', exact: true }).click();
  await page.getByRole('heading', { name: 'What was read' }).waitFor({ timeout: 300_000 });
  await keepAndOpen(page);
  await ready(page);
  await goTo(page, atSeconds);
  await page.keyboard.press('ArrowRight');
  await page.keyboard.press('ArrowLeft');
  await saved(page);
  // tsx names inner functions with a helper that a page does not have.
  await page.evaluate('globalThis.__name = f => f');
  await page.evaluate(watch);
  const early = await series(page, edits / 2);
  await expect(page.getByTestId('queue').getByRole('heading')).not.toContainText('looking', { timeout: 60_000 });
  return { early, timed: await series(page, edits) };
}

async function series(page: Page, count: number): Promise<Timed[]> {
  const timed: Timed[] = [];
  for (let i = 0; i < count; i++) {
    await page.keyboard.press(i % 2 === 0 ? 'Delete' : 'Control+z');
    timed.push(await timing(page));
  }
  // The first ones warm up.
  return timed.slice(10);
}

interface Watched {
  timed: Promise<Timed>;
}

async function timing(page: Page): Promise<Timed> {
  return page.evaluate(() => (window as unknown as { watched: Watched }).watched.timed);
}

/** Runs in the page: from each key on, notes when the ledger changes and when the page says that all is saved. */
function watch(): void {
  const saving = document.querySelector('[data-testid="saving"]')!;
  const ledger = document.querySelector('[data-testid^="ledger-"]')!;
  const watched: Watched = { timed: Promise.reject(new Error('no key was pressed')) };
  watched.timed.catch(() => {});
  (window as unknown as { watched: Watched }).watched = watched;
  addEventListener(
    'keydown',
    event => {
      if (event.key === 'Control') return;
      const from = performance.now();
      watched.timed = new Promise(resolve => {
        let countsMs: number | null = null;
        let wasOpen = false;
        const look = () => {
          const isSaved = saving.textContent!.startsWith('saved');
          if (!isSaved) wasOpen = true;
          if (countsMs === null || !wasOpen || !isSaved) return;
          counts.disconnect();
          state.disconnect();
          resolve({ countsMs, savedMs: performance.now() - from });
        };
        const counts = new MutationObserver(() => {
          countsMs ??= performance.now() - from;
          look();
        });
        const state = new MutationObserver(look);
        const all = { childList: true, characterData: true, subtree: true };
        counts.observe(ledger, all);
        state.observe(saving, all);
      });
    },
    true,
  );
}

function median(values: readonly number[]): number {
  return [...values].sort((a, b) => a - b)[values.length >> 1]!;
}
