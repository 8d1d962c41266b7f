/**
 * A Stryker checker that lets a random share of the mutants through, the same ones for the same seed:
 * `MUTATE_SAMPLE=0.1:7` is a tenth by seed 7. The others are reported as errors, which no score counts.
 */
class Sample {
  #share;
  #seed;

  constructor() {
    const [share, seed = '1'] = (process.env.MUTATE_SAMPLE ?? '1').split(':');
    this.#share = Number(share);
    this.#seed = seed;
  }

  async init() {}

  async check(mutants) {
    return Object.fromEntries(mutants.map(mutant => [mutant.id, this.#verdict(mutant)]));
  }

  async group(mutants) {
    return [mutants.map(mutant => mutant.id)];
  }

  #verdict({ fileName, location, mutatorName, replacement }) {
    const file = fileName.slice(fileName.lastIndexOf('src/'));
    const name = JSON.stringify([this.#seed, file, location.start, location.end, mutatorName, replacement]);
    return hash(name) < this.#share * 2 ** 32
      ? { status: 'passed' }
      : { status: 'compileError', reason: 'not in the sample' };
  }
}

/** FNV-1a of 32 bits, its bits mixed after Murmur3 so that names that differ in a digit lie far apart. */
function hash(text) {
  let h = 0x811c9dc5;
  for (const character of text) h = Math.imul(h ^ character.codePointAt(0), 0x01000193);
  h = Math.imul(h ^ (h >>> 16), 0x85ebca6b);
  h = Math.imul(h ^ (h >>> 13), 0xc2b2ae35);
  return (h ^ (h >>> 16)) >>> 0;
}

export const strykerPlugins = [{ kind: 'Checker', name: 'sample', injectableClass: Sample }];
