import { describe, expect, test } from 'vitest';
import { lockSession } from '../../../../src/storage/locks';
import { beginningOf, bundleOf, createPage } from '../page';

const page = createPage();
const notices = () => page.ui.getState().notices.map(n => n.text);

describe('a session bundle', () => {
  test('is stored whole: signals, session, reviews', async () => {
    const { file, session, logs } = bundleOf('whole');
    expect(await page.importFiles([file])).toEqual(['whole']);
    expect(await page.library.session('whole')).toEqual(session);
    expect(await page.library.log('whole', 'R1')).toEqual(logs[0]);
    const { sources, absent } = await page.library.leads(session);
    expect(absent).toEqual([]);
    expect(sources.get('adhesive-logger')!.map(l => l?.samples.sampleCount)).toEqual([12_000, 12_000, 6000]);
  });

  test('opened twice at once is stored by the first; the second takes nothing of it back', async () => {
    const { file, session } = bundleOf('twice');
    const both = await Promise.all([page.importFiles([file]), page.importFiles([file])]);
    expect(both.flat()).toEqual(['twice']);
    expect(notices().at(-1)).toMatch(/^twice is being imported already/);
    expect(await page.library.session('twice')).toEqual(session);
    expect((await page.library.leads(session)).absent).toEqual([]);
    expect(await page.importFiles([file])).toEqual(['twice']);
    expect(notices().at(-1)).toMatch(/nothing new in this bundle/);
  });

  test('cancelled leaves nothing behind, and can be opened again', async () => {
    const { file, session } = bundleOf('cancelled');
    const stop = page.ui.subscribe(({ jobs }) => jobs.find(j => j.title.includes('cancelled'))?.cancel?.());
    expect(await page.importFiles([file])).toEqual([]);
    stop();
    expect(await page.library.session('cancelled')).toBeNull();
    expect((await page.library.leads(session)).absent).toHaveLength(4);
    expect(await page.importFiles([file])).toEqual(['cancelled']);
  });
});

describe('a review that goes on in a bundle', () => {
  test('is not added behind the back of whoever has it open', async () => {
    await page.importFiles([beginningOf('grows', 2).file]);
    const { file, logs } = bundleOf('grows');
    const lock = await lockSession('grows', 'R1');
    expect(lock.held).toBe(true);
    expect(await page.importFiles([file])).toEqual([]);
    expect(notices().at(-1)).toMatch(/^grows.zip was not imported: the review of R1 is open\./);
    expect((await page.library.log('grows', 'R1'))!.entries).toHaveLength(2);
    lock.release();
    expect(await page.importFiles([file])).toEqual(['grows']);
    expect(await page.library.log('grows', 'R1')).toEqual(logs[0]);
    const again = await lockSession('grows', 'R1');
    expect(again.held).toBe(true);
    again.release();
  });

  test('that holds nothing new is taken in while it is open', async () => {
    await page.importFiles([bundleOf('same').file]);
    const lock = await lockSession('same', 'R1');
    expect(await page.importFiles([bundleOf('same').file])).toEqual(['same']);
    lock.release();
  });

  test('adds the review of another rater while the own one is open', async () => {
    await page.importFiles([bundleOf('beside', ['R1']).file]);
    const lock = await lockSession('beside', 'R1');
    expect(await page.importFiles([bundleOf('beside', ['R1', 'R2']).file])).toEqual(['beside']);
    expect([...(await page.library.raters('beside'))].sort()).toEqual(['R1', 'R2']);
    lock.release();
  });

  test('signed with a code that is here in other letters is taken in, and it is said how it counts', async () => {
    const said = () => notices().filter(n => n.includes('differ in capital letters only and count as one rater'));
    await page.importFiles([bundleOf('alike', ['R1', 'R2']).file]);
    expect(said()).toEqual([]);
    expect(await page.importFiles([bundleOf('alike', ['r1']).file])).toEqual(['alike']);
    expect([...(await page.library.raters('alike'))].sort()).toEqual(['R1', 'R2', 'r1']);
    expect(said()).toHaveLength(1);
    page.ui.setState({ notices: [] });
    await page.importFiles([bundleOf('alike-at-once', ['R1', 'r1']).file]);
    expect(said()).toHaveLength(1);
  });
});
