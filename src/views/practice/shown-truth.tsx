import { holdsTruth, type ShownTruth } from '../../core/review/practice/shown-truth';
import { sampledQualityWords, sampledWords } from '../../core/review/standing/sampled-words';
import { percentText } from '../../core/score/percent-text';

/** After a sampled lesson: the true quality beside the learner's interval, and what lies between the two. */
export function TruthSection({ shown }: { shown: ShownTruth | null }) {
  if (!shown) return null;
  const { truth, own, faultless } = shown;
  return (
    <section aria-label="The truth" data-testid="truth">
      <h2>
        True quality: {truth.value === null ? `not computable: ${truth.reason}` : `${percentText(truth.value, 2)} %`}
      </h2>
      <p>
        Yours, {sampledWords(own)}: {sampledQualityWords(own)}.
      </p>
      <p>{verdict(shown)}</p>
      <p className="soft small">
        The same stretches without a mistake overlooked: {sampledQualityWords(faultless)}. You stopped{' '}
        {own.reached
          ? 'with the interval as narrow as wanted'
          : `before the interval was as narrow as ±${own.wantedPoints} points`}
        .
      </p>
    </section>
  );
}

function verdict({ truth, own, faultless }: ShownTruth): string {
  if (own.quality.value === null) return 'You stopped before anything could be estimated.';
  if (holdsTruth(own, truth)) return 'Your interval holds it.';
  return holdsTruth(faultless, truth)
    ? 'Your interval does not hold it, and would without the mistakes you made: no interval covers those of a rater.'
    : 'Your interval does not hold it, and would not without a mistake either: that is chance, in at most 5 of 100 samples.';
}
