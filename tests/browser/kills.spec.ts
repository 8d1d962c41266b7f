import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { type BrowserContext, chromium, expect, type Page, test } from '@playwright/test';
import { verifyChain } from '../../src/core/marks/log';
import { randomFrom } from '../../src/core/random';
import { fiveMinutes } from './five-minutes';
import { given, openBundle, ready } from './page';

/** In CI a few; `npm run faults` takes a thousand edits. */
const edits = Number(process.env['FAULT_EDITS'] ?? 12);
const editsPerLife = edits >= 1000 ? 25 : 8;
const seed = process.env['FAULT_SEED'] ?? 'kills';

const { session, bundle } = fiveMinutes();

/** What the page had said was saved, and how many key presses it had answered, when it died. */
interface Life {
  saidSaved: number;
  answered: number;
}

async function watchSaving(context: BrowserContext, life: { now: Life }): Promise<void> {
  await context.exposeFunction('saidSaved', (count: number) => {
    life.now.saidSaved = Math.max(life.now.saidSaved, count);
  });
  await context.addInitScript(() => {
    new MutationObserver(() => {
      const text = document.querySelector('[data-testid="saving"]')?.textContent ?? '';
      const count = /saved, (\d+)/.exec(text)?.[1];
      if (count) (window as unknown as { saidSaved(n: number): void }).saidSaved(Number(count));
    }).observe(document, { subtree: true, childList: true, characterData: true });
  });
}

/** Moves the next mark to and fro by key until the page is gone: each press is one entry. */
async function work(page: Page, count: number, life: Life): Promise<void> {
  try {
    await page.keyboard.press('ArrowRight');
    for (let i = 0; i < count; i++) {
      await page.keyboard.press(i % 2 === 0 ? '.' : ',');
      life.answered++;
      // Twenty-five keys a second: as fast as a key repeats.
      await new Promise(done => setTimeout(done, 40));
    }
  } catch {
    // The page was killed on the way.
  }
}

test(`${edits} edits with page or browser killed at random moments: nothing that was said to be saved is lost`, async ({
  launchOptions,
  baseURL,
}) => {
  test.setTimeout(120_000 + edits * 1000);
  const random = randomFrom(seed);
  const profile = mkdtempSync(join(tmpdir(), 'profile-'));
  const life = { now: { saidSaved: 0, answered: 0 } };
  const launch = async () => {
    const started = await chromium.launchPersistentContext(profile, { ...launchOptions, baseURL: baseURL! });
    await watchSaving(started, life);
    return started;
  };
  let context = await launch();
  let page = await context.newPage();
  const tally = { edits: 0, renderer: 0, browser: 0, lostByKill: {} as Record<number, number> };
  try {
    await openBundle(page, 'five-minutes.zip', bundle, session.title);
    for (let n = 0; tally.edits < edits; n++) {
      life.now = { saidSaved: 0, answered: 0 };
      const atEdit = 1 + random.integer(editsPerLife);
      const ofBrowser = n % 4 === 3;
      const control = await context.newCDPSession(page);
      const working = work(page, atEdit + 1, life.now);
      await expect.poll(() => life.now.answered, { intervals: [1] }).toBeGreaterThanOrEqual(atEdit - 1);
      await new Promise(done => setTimeout(done, random.between(0, 30)));
      const gone = ofBrowser ? context.waitForEvent('close') : page.waitForEvent('crash');
      // Nothing answers this call: who would, is dead.
      void control.send(ofBrowser ? ('Browser.crash' as never) : 'Page.crash').catch(() => undefined);
      await gone;
      await working;
      const { answered, saidSaved } = life.now;
      if (ofBrowser) {
        await context.close().catch(() => undefined);
        context = await launch();
      } else await page.close();
      tally[ofBrowser ? 'browser' : 'renderer']++;
      page = await context.newPage();
      await page.goto(`/#/review/${session.id}`);
      await ready(page);
      const { log } = await given(page);
      expect(verifyChain(log)).toEqual({ ok: true });
      expect(log.entries.length).toBeGreaterThanOrEqual(saidSaved);
      const moves = log.entries.filter(e => e.intent === 'move').length;
      const lost = Math.max(0, tally.edits + answered - moves);
      tally.lostByKill[lost] = (tally.lostByKill[lost] ?? 0) + 1;
      tally.edits = moves;
    }
    console.log(`seed ${seed}: ${JSON.stringify(tally)}`);
  } finally {
    await context.close().catch(() => undefined);
    rmSync(profile, { recursive: true, force: true });
  }
});
