import fc from 'fast-check';

// A mutant is killed by the first counterexample; a smaller one is of no use.
fc.configureGlobal({ endOnFailure: true });
