import type { CliCommand } from './command';

/** Each command is loaded when it is asked for, so that one does not wait for the others' code. */
export const commands: Readonly<Record<string, { readonly summary: string; load(): Promise<CliCommand> }>> = {
  score: {
    summary: 'quality of detected marks against reviewed ones, per segment',
    load: async () => (await import('./score')).scoreCommand,
  },
  detect: {
    summary: 'R peaks by the built-in detector',
    load: async () => (await import('./detect')).detectCommand,
  },
  convert: {
    summary: 'between EDF+, ISHNE, text, raw words, session bundles and lists of marks',
    load: async () => (await import('./convert')).convertCommand,
  },
  check: {
    summary: 'checks a session bundle',
    load: async () => (await import('./check')).checkCommand,
  },
  audit: {
    summary: "whether a lab's store, or a copy of it, is as it was written",
    load: async () => (await import('./audit')).auditCommand,
  },
  report: {
    summary: 'report on a study: HTML, figures, and every number as JSON and CSV',
    load: async () => (await import('./report')).reportCommand,
  },
  sample: {
    summary: 'plans a sampled review: stretches, classes, bounds, order',
    load: async () => (await import('./sample')).sampleCommand,
  },
  'sample-interval': {
    summary: 'estimate and interval of a sampled review from plain numbers',
    load: async () => (await import('./sample-interval')).sampleIntervalCommand,
  },
  'self-check': {
    summary: 'recomputes examples with known answers on this machine',
    load: async () => (await import('./self-check')).selfCheckCommand,
  },
  schema: {
    summary: 'prints the JSON Schema of the session bundle',
    load: async () => (await import('./schema')).schemaCommand,
  },
};
