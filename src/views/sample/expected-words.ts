/** What a practised rater needs for a stretch without a mistake, and some for those with one. */
const secondsEach = 5;

interface Planned {
  readonly stretches: number;
  readonly draws: number;
  readonly minutes: number;
}

/** How much work a sample is, before it begins. `isFixed`: so many were drawn by whoever planned it for all raters. */
export function expectedWords({ draws, stretches, minutes }: Planned, isFixed: boolean): string {
  const work = `${minutes} min at ${secondsEach} s a stretch`;
  if (isFixed) return `About ${draws} of ${stretches} stretches, ${work}.`;
  if (draws < stretches)
    return `About ${draws} of ${stretches} stretches, ${work}, where quality is near 99.5 %; more where it is lower.`;
  return `All ${stretches} stretches, ${work}: an interval as narrow as this needs them all. Ask for a wider one, or review in full.`;
}
