/** Every local maximum of the envelope that might be a beat, as parallel arrays; `count` of each are in use. */
export interface Candidates {
  readonly at: Int32Array;
  readonly energy: Float32Array;
  readonly count: number;
}

/** Maxima nearer than this belong to one complex; the highest stands for it. */
const apartS = 0.12;
/** No signal this near: the edge of a gap or flat line would look like a beat. */
const edgeS = 0.1;

/** Finds the candidates of a window; `unseen` holds [start, end) pairs without signal. */
export function findCandidates(energy: Float32Array, n: number, workingHz: number, unseen: Int32Array): Candidates {
  const apart = Math.round(apartS * workingHz);
  const at = new Int32Array(Math.ceil(n / apart) + 2);
  const height = new Float32Array(at.length);
  let count = 0;
  let next = n > 0 ? energy[0]! : 0;
  for (let i = 0; ; i++) {
    // Each sample is read once: down to the next dip, then up to the next top.
    let value = next;
    while (i + 1 < n && (next = energy[i + 1]!) <= value) {
      value = next;
      i++;
    }
    while (i + 1 < n && (next = energy[i + 1]!) > value) {
      value = next;
      i++;
    }
    if (i + 1 >= n) break;
    if (count === 0 || i - at[count - 1]! >= apart) {
      at[count] = i;
      height[count++] = value;
    } else if (value > height[count - 1]!) {
      at[count - 1] = i;
      height[count - 1] = value;
    }
  }
  if (unseen.length > 0) count = dropUnseen(at, height, count, unseen, Math.round(edgeS * workingHz));
  return { at, energy: height, count };
}

function dropUnseen(at: Int32Array, height: Float32Array, count: number, unseen: Int32Array, edge: number): number {
  let kept = 0;
  let k = 0;
  for (let i = 0; i < count; i++) {
    while (k < unseen.length && unseen[k + 1]! + edge <= at[i]!) k += 2;
    if (k < unseen.length && at[i]! >= unseen[k]! - edge) continue;
    at[kept] = at[i]!;
    height[kept++] = height[i]!;
  }
  return kept;
}
