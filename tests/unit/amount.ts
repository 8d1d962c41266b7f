/**
 * How often a slow check is repeated: `few` times while the code is mutated (tests/mutation), where every mutant runs it
 * again; `usual` times everywhere else.
 */
export const amount = (usual: number, few: number): number => (process.env['MUTATE'] ? few : usual);
