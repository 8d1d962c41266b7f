import { agreementSentence, findingsText } from '../core/known-answers/known-answer';
import { appName, appVersion } from '../core/report/version';
import { selfCheck } from '../formats/self-check';
import { type CliCommand, UsageError } from './command';

export const selfCheckCommand: CliCommand = {
  name: 'self-check',
  summary: 'recomputes examples with known answers on this machine',
  usage: ['self-check [--json]'],
  flags: { json: { about: 'findings as JSON' } },
  examples: ['self-check', 'self-check --json'],
  details: 'Exit code 0 when every example agrees, 1 when one does not. The page has the same check in its help.',
  async run({ files, flags }, output) {
    if (files.length > 0) throw new UsageError('self-check takes no file');
    const findings = await selfCheck();
    const version = `${appName} ${appVersion}`;
    const runtime = `Node ${process.version}, ${process.platform} ${process.arch}`;
    const summary = agreementSentence(findings);
    if (flags['json']) output.print(JSON.stringify({ version, runtime, summary, findings }, null, 2));
    else output.print(findingsText(findings, [version, runtime]));
    return findings.every(f => f.agrees) ? 0 : 1;
  },
};
