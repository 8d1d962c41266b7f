import { describe, expect, test } from 'vitest';
import { createUiStore, hashOfScreen, type Screen, screenFromHash } from '../../../../src/state/stores/ui-store';

describe('the address of a screen', () => {
  test.each<[Screen]>([
    [{ name: 'start' }],
    [{ name: 'review', sessionId: 'V01-day' }],
    [{ name: 'review', sessionId: 'V01 / day', recordingId: 'chest-band' }],
    [{ name: 'compare', sessionId: 'V01-day' }],
    [{ name: 'practice', task: ['mixed', '2', 'baze'] }],
    [{ name: 'practice', task: [] }],
    [{ name: 'study', studyId: 'demo-study' }],
    [{ name: 'study', studyId: '' }],
    [{ name: 'report', sessionId: '50 % done' }],
  ])('%j leads back to it', screen => {
    expect(screenFromHash(hashOfScreen(screen))).toEqual(screen);
  });

  test.each<[string, Screen]>([
    ['#/review/%', { name: 'review', sessionId: '%' }],
    ['#/practice/%E0%A4%A', { name: 'practice', task: ['%E0%A4%A'] }],
    ['#/review/', { name: 'start' }],
    ['#/nowhere/else', { name: 'start' }],
    ['', { name: 'start' }],
  ])('%s, typed by hand, is read without a fall', (hash, screen) => {
    expect(screenFromHash(hash)).toEqual(screen);
  });
});

describe('the question for a passphrase', () => {
  const turn = () => new Promise(resolve => setTimeout(resolve));

  test('a second one waits for the first, and each gets its own answer', async () => {
    const ui = createUiStore();
    const first = ui.askPassphrase('a.zip.locked', '');
    const second = ui.askPassphrase('b.zip.locked', '');
    await turn();
    expect(ui.getState().question?.file).toBe('a.zip.locked');
    ui.getState().question?.answer('one');
    await turn();
    expect(ui.getState().question?.file).toBe('b.zip.locked');
    ui.getState().question?.answer(null);
    expect(await Promise.all([first, second])).toEqual(['one', null]);
    expect(ui.getState().question).toBeNull();
  });

  test('one asked again after a wrong answer comes behind those that wait', async () => {
    const ui = createUiStore();
    const asked: string[] = [];
    const ask = async (file: string) => {
      for (let wrong = ''; ; wrong = 'wrong passphrase') {
        const answer = await ui.askPassphrase(file, wrong);
        if (answer !== 'wrong') return answer;
      }
    };
    const both = [ask('a'), ask('b')];
    for (const answer of ['wrong', 'B', 'A']) {
      await turn();
      const { question } = ui.getState();
      asked.push(`${question?.file} ${question?.wrong}`.trim());
      question?.answer(answer);
    }
    expect(await Promise.all(both)).toEqual(['A', 'B']);
    expect(asked).toEqual(['a', 'b', 'a wrong passphrase']);
  });
});

describe('notices and jobs', () => {
  test('a notice with the same words stands once, and goes when it is dismissed', () => {
    const ui = createUiStore();
    const id = ui.notify('No signal is stored.');
    expect(ui.notify('No signal is stored.')).toBe(id);
    const other = ui.notify('Done.', 'done');
    expect(ui.getState().notices.map(n => [n.text, n.kind])).toEqual([
      ['No signal is stored.', 'needs you'],
      ['Done.', 'done'],
    ]);
    ui.dismiss(id, other);
    expect(ui.getState().notices).toEqual([]);
  });

  test('a job reports how far it is until it ends, beside others', () => {
    const ui = createUiStore();
    const first = ui.startJob('Reading');
    const second = ui.startJob('Unlocking', () => undefined);
    second.progress(0.5, 12);
    expect(ui.getState().jobs.map(j => [j.title, j.share, j.secondsLeft, j.cancel !== null])).toEqual([
      ['Reading', null, null, false],
      ['Unlocking', 0.5, 12, true],
    ]);
    first.end();
    expect(ui.getState().jobs.map(j => j.title)).toEqual(['Unlocking']);
    second.end();
    second.progress(1);
    expect(ui.getState().jobs).toEqual([]);
  });
});
