/**
 * What the labels of the open records say (codes of the database's annotations). Not sinus: atrial, junctional and
 * supraventricular premature beats (4 aberrated, 7, 8, 9), escape beats (10, 11, 34), ventricular premature beats (5),
 * fusion of ventricular and sinus beats (6), paced beats (12) and fusion with them (38), R on T (41). Sinus, as far as a
 * beat's label goes: normal beats (1) and bundle branch block (2, 3, 25), which are conducted from above. Beats labelled
 * normal in atrial fibrillation and flutter (records 203, 217 and 222 have much of it) come from no sinus node, yet the
 * beats' labels do not say so: they count as sinus here. Beats that the experts left unclassified (13) count neither way.
 */
const notSinusLabels: ReadonlySet<number> = new Set([4, 5, 6, 7, 8, 9, 10, 11, 12, 34, 38, 41]);

export const isNotSinus = (label: number) => notSinusLabels.has(label);
export const unclassified = 13;
/** Mixed beats, partly conducted from the sinus. */
export const fusion = [6, 38];
