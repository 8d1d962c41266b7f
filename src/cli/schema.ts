import { sessionBundleJsonSchema } from '../formats/bundle/schema';
import { type CliCommand, UsageError } from './command';

/** The text of public/schema/session-bundle-3.json. */
export function schemaText(): string {
  return `${JSON.stringify(sessionBundleJsonSchema(), null, 2)}\n`;
}

export const schemaCommand: CliCommand = {
  name: 'schema',
  summary: 'prints the JSON Schema of the session bundle',
  usage: ['schema'],
  flags: {},
  examples: ['schema > public/schema/session-bundle-3.json'],
  run({ files }, output) {
    if (files.length > 0) throw new UsageError('schema takes no file');
    output.print(schemaText().trimEnd());
    return 0;
  },
};
