import { expect, type Page, test } from '@playwright/test';
import { openSteps } from './step';

const open = (page: Page) => openSteps<typeof import('./pages/signal-steps')>(page, 'signal-steps');

for (const kind of ['opfs', 'blobs', 'buffers'] as const) {
  test(`${kind}: words and pyramid come back exactly, also after a reload`, async ({ page }) => {
    let call = await open(page);
    const samples = 1_300_001;
    const { kind: used, written } = await call('writeInWorker', kind, 2, samples, 40_000, 'finish');
    expect(used).toBe(kind);
    expect(written).toEqual([
      { format: 'int16', sampleCount: samples, unrecorded: [] },
      { format: 'int16', sampleCount: samples, unrecorded: [] },
    ]);
    call = await open(page);
    expect(await call('wrongWords', kind, 2, samples)).toMatchObject({ kind, wrong: 0 });
    expect(await call('pyramidAgrees', kind, samples)).toEqual({ columns: 200, wrong: 0 });
  });

  test(`${kind}: gaps of days between short pieces take no room`, async ({ page }) => {
    const call = await open(page);
    const [samples, block, gap] = [20_000, 1500, 100_000_000];
    const [lead] = await call('writeApartInWorker', kind, samples, block, gap);
    expect(lead).toMatchObject({ sampleCount: samples + 13 * gap });
    expect(lead!.unrecorded).toHaveLength(13);
    const found = await call('wrongAcross', kind, samples, block, gap);
    expect(found).toEqual({ wrong: 0, bytes: 2 * samples, holds: true, reaches: true, gaps: 13 });
  });

  test(`${kind}: what a running import has settled can be read while it goes on`, async ({ page }) => {
    const call = await open(page);
    const samples = 700_000;
    await call('writeInWorker', kind, 1, samples, 4096, 'settle');
    expect(await call('wrongWords', kind, 1, samples)).toMatchObject({ wrong: 0 });
    expect(await call('unfinished', kind, samples)).toEqual({ holdsAll: true, holdsMore: false, pyramid: null });
  });

  test(`${kind}: removed signals are gone, and that is said`, async ({ page }) => {
    const call = await open(page);
    await call('writeInWorker', kind, 1, 100_000, 4096, 'finish');
    expect(await call('removeAndRead', kind)).toEqual({ problem: 'gone', pyramid: null });
  });

  test(`${kind}: a full disk is said while writing`, async ({ page, context, baseURL }) => {
    const call = await open(page);
    const session = await context.newCDPSession(page);
    await session.send('Storage.overrideQuotaForOrigin', { origin: baseURL!, quotaSize: 3_000_000 });
    await expect(call('writeInWorker', kind, 1, 8_000_000, 65_536, 'finish')).rejects.toThrow(
      /StorageProblem: .*no room/,
    );
  });
}
