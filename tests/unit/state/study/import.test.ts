import { afterEach, describe, expect, test, vi } from 'vitest';
import type { Study } from '../../../../src/core/review/study/study';
import { createStudyFiles } from '../../../../src/state/study/files';
import { importStudyFiles } from '../../../../src/state/study/import';
import { newStudy, saveStudy, studyById } from '../../../../src/state/study/studies';
import { createPage } from '../page';

const page = createPage();
const { library } = page;

afterEach(() => vi.restoreAllMocks());

const rows = Array.from({ length: 2500 }, (_, i) => `${(i * 0.004).toFixed(3)},${(i * 37) % 200}`);
const signal = `time (s),ECG (uV)\n${rows.join('\n')}\n`;
const marks = `sample\n${Array.from({ length: 12 }, (_, i) => 100 + 200 * i).join('\n')}\n`;

function filesOf(volunteer: string) {
  return [
    { path: `${volunteer}_band.csv`, file: new File([signal], `${volunteer}_band.csv`) },
    { path: `${volunteer}_band_marks.csv`, file: new File([marks], `${volunteer}_band_marks.csv`) },
  ];
}

async function begin(title: string, volunteers: readonly string[]) {
  const study: Study = { ...newStudy(title, new Date(0)), id: title };
  await saveStudy(library, study);
  const files = createStudyFiles();
  await files.add(volunteers.flatMap(filesOf));
  const run = async () => importStudyFiles(page, (await studyById(library, title))!, files);
  const stages = () => files.store.getState().files.map(f => `${f.path}: ${f.failure ?? f.stage}`);
  return { files, run, stages };
}

describe('an import of many volunteers', () => {
  test('makes a session of each', async () => {
    const { run, stages } = await begin('both', ['V01', 'V02']);
    const study = await run();
    expect(study.sessions).toEqual(['both-V01', 'both-V02']);
    expect(await studyById(library, 'both')).toEqual(study);
    expect(stages().filter(s => !s.endsWith('imported'))).toEqual([]);
    const session = await library.session('both-V02');
    expect(session?.participant).toBe('V02');
    expect([...session!.recordings[0]!.detected]).toEqual(Array.from({ length: 12 }, (_, i) => 100 + 200 * i));
  });

  test('makes a session of each day that the names tell, and says where the file has another', async () => {
    const study: Study = {
      ...newStudy('days', new Date(0)),
      id: 'days',
      namingPattern: '{participant}_{date}_{recorder}\n{participant}_{recorder}',
    };
    await saveStudy(library, study);
    const files = createStudyFiles();
    const stamped = signal.replace(/^[\d.]+,/gm, s => `2026-09-13 08:00:${(Number(s.slice(0, -1)) + 10).toFixed(3)},`);
    const chosen = (path: string, text: string) => ({ path, file: new File([text.replace('time (s)', 'time')], path) });
    await files.add([
      chosen('V01_2026-09-12_band.csv', stamped),
      chosen('V01_2026-09-13_band.csv', stamped.replaceAll(',1', ',2')),
    ]);
    const grown = await importStudyFiles(page, study, files);
    expect(grown.sessions).toEqual(['days-V01-2026-09-12', 'days-V01-2026-09-13']);
    expect((await library.session('days-V01-2026-09-12'))?.title).toBe('V01, days, 2026-09-12');
    const said = files.store.getState().files.map(f => f.found.filter(t => t.startsWith('The name says')));
    expect(said).toEqual([['The name says 2026-09-12, the recording begins on 2026-09-13.'], []]);
  });

  test('that fails on one keeps the others in the study, and takes that one on the next try', async () => {
    const { run, stages } = await begin('one-fails', ['V01', 'V02', 'V03']);
    const keep = library.saveSession;
    const broken = vi
      .spyOn(library, 'saveSession')
      .mockImplementation(session =>
        session.id.endsWith('V02') ? Promise.reject(new Error('no room is left')) : keep(session),
      );
    const study = await run();
    expect(study.sessions).toEqual(['one-fails-V01', 'one-fails-V03']);
    expect((await studyById(library, 'one-fails'))?.sessions).toEqual(study.sessions);
    expect(stages()).toContain('V02_band.csv: no room is left');
    expect(await library.session('one-fails-V02')).toBeNull();
    broken.mockRestore();
    expect((await run()).sessions).toEqual(['one-fails-V01', 'one-fails-V03', 'one-fails-V02']);
  });

  test('that was cut off before the study knew of a session takes it up on the next try', async () => {
    const first = await begin('cut-off', ['V01', 'V02']);
    const whole = await first.run();
    await saveStudy(library, { ...whole, sessions: [] });
    const { run, stages } = await begin('cut-off', ['V01', 'V02', 'V03']);
    expect((await run()).sessions).toEqual(['cut-off-V01', 'cut-off-V02', 'cut-off-V03']);
    expect(stages().filter(s => s.includes('band.csv') && !s.endsWith('imported'))).toEqual([]);
  });

  test('leaves a recording that is in the study already as it is', async () => {
    const { run } = await begin('known', ['V01']);
    await run();
    const again = await begin('known-again', []);
    const study = { ...(await studyById(library, 'known'))! };
    await again.files.add(filesOf('V01'));
    await importStudyFiles(page, study, again.files);
    expect(again.stages()).toContain(
      'V01_band.csv: This volunteer has a recording of this name in the study already; it was left as it is.',
    );
    expect((await library.session('known-V01'))!.recordings).toHaveLength(1);
  });

  test('stopped keeps the volunteers that are whole', async () => {
    const { run, stages } = await begin('stopped', ['V01', 'V02']);
    const keep = library.saveSession;
    vi.spyOn(library, 'saveSession').mockImplementation(async session => {
      await keep(session);
      page.ui.getState().jobs.at(-1)!.cancel!();
    });
    expect((await run()).sessions).toEqual(['stopped-V01']);
    expect(stages()).toContain('V02_band.csv: ready');
    expect(await library.session('stopped-V02')).toBeNull();
  });
});
