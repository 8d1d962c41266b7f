import { amount } from '../core/amount';
import { checkBundle, checkStudy } from '../formats/bundle/check';
import { isStudyBundle } from '../formats/bundle/study';
import type { ByteSource } from '../formats/bytes/source';
import { isLocked } from '../formats/locked/locked';
import { type CliCommand, type Given, type Output, UsageError } from './command';
import { openFile } from './files';
import { FindingsLog, strictFlag } from './findings';

export const checkCommand: CliCommand = {
  name: 'check',
  summary: 'checks a session or study bundle: schema, checksums, hash chain of each log',
  usage: ['check BUNDLE.zip [--strict] [--json]'],
  flags: { ...strictFlag, json: { about: 'findings as JSON' } },
  examples: ['check session.zip'],
  details: 'Exit code 0 when all is well, 1 when something is wrong with the bundle.',
  async run(given, output) {
    const { files, flags } = given;
    if (files.length !== 1) throw new UsageError('check takes one bundle');
    const source = openFile(files[0]!);
    if (isLocked(await source.read(0, 8))) {
      const problem = `${source.name} is locked with a passphrase: open it in the page, and check the bundle inside.`;
      output.print(
        flags['json'] ? JSON.stringify({ sound: false, locked: true, problems: [problem] }, null, 2) : problem,
      );
      return 1;
    }
    if (await isStudyBundle(source)) return checkStudyFile(source, given, output);
    const { bundle, problems } = await checkBundle(source);
    const logs = bundle?.reviewed.logs ?? [];
    const findings = new FindingsLog(output);
    if (bundle) findings.addBundle({ ...bundle, warnings: [] });
    findings.refuseIfStrict(given);
    if (flags['json']) {
      const found = logs.map(l => ({
        rater: l.header.rater,
        entries: l.entries.length,
        lastHash: l.entries.at(-1)?.hash,
      }));
      const damaged = bundle?.damaged.map(({ rater, seq, why }) => ({ rater, entry: seq, why })) ?? [];
      output.print(
        JSON.stringify(
          { sound: problems.length === 0, problems, logs: found, damagedLogs: damaged, ...findings.all },
          null,
          2,
        ),
      );
    } else if (problems.length > 0) output.print(problems.join('\n'));
    else {
      const raters =
        logs.map(l => `${l.header.rater} (${amount(l.entries.length, 'entry', 'entries')})`).join(', ') || 'none';
      const count = bundle!.reviewed.session.recordings.length;
      output.print(`Sound: ${bundle!.reviewed.session.id}, ${amount(count, 'recording')}, logs: ${raters}.`);
    }
    return problems.length === 0 ? 0 : 1;
  },
};

async function checkStudyFile(source: ByteSource, given: Given, output: Output): Promise<number> {
  const { bundles, problems } = await checkStudy(source);
  const findings = new FindingsLog(output);
  // What a bundle warns of is among the problems.
  for (const bundle of bundles) findings.addBundle({ ...bundle, warnings: [] }, bundle.reviewed.session.id);
  findings.refuseIfStrict(given);
  const sound = problems.length === 0;
  if (given.flags['json']) output.print(JSON.stringify({ sound, problems, ...findings.all }, null, 2));
  else output.print(sound ? 'Sound: a study, and every session in it.' : problems.join('\n'));
  return sound ? 0 : 1;
}
