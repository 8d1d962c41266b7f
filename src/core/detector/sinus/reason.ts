/** Why a beat is proposed as not sinus. */
export type NotSinusReason = 'another shape' | 'mixed shape' | 'early' | 'early, other P wave' | 'late, no P wave';
