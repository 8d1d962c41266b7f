/** The protocol of the invented training day, with what each activity does to heart and recorders. */
export const recorders = ['chest band', 'adhesive logger'] as const;
export type RecorderName = (typeof recorders)[number];

/**
 * How many disturbed stretches of each kind an activity has, how long they are (s) and how strong: in R heights, and for
 * `steps` in times the motion of the whole activity.
 */
export interface Disturbance {
  readonly kind: 'baseline' | 'muscle' | 'steps' | 'storm' | 'off';
  readonly count: number;
  readonly seconds: readonly [number, number];
  readonly level: readonly [number, number];
}

export interface Activity {
  readonly name: string;
  readonly heartRateBpm: number;
  readonly breathsPerMinute: number;
  /**
   * Share of readable intervals that the recorder gets wrong: about 0.3 % at rest, 5 to 15 % in hard movement for some
   * recorders (common practice).
   */
  readonly wrongIntervals: Readonly<Record<RecorderName, number>>;
  /**
   * Electrode motion all through the activity: signal-to-noise ratio in dB in the first lead, the square of the QRS
   * peak-to-peak amplitude over 8 against the noise power. Source: Moody, Muldrow & Mark, Computers in Cardiology
   * 1984;11:381 (from memory).
   */
  readonly motionDb: Readonly<Record<RecorderName, number>>;
  readonly disturbances: Readonly<Record<RecorderName, readonly Disturbance[]>>;
}

const louder = (count: number, level: readonly [number, number]): Disturbance => ({
  kind: 'steps',
  count,
  seconds: [3, 12],
  level,
});
const muscle = (count: number, level: readonly [number, number]): Disturbance => ({
  kind: 'muscle',
  count,
  seconds: [8, 30],
  level,
});
const wander = (level: number): Disturbance => ({
  kind: 'baseline',
  count: 1,
  seconds: [290, 290],
  level: [0.7 * level, 1.3 * level],
});
const storm = (count: number, longest: number): Disturbance => ({
  kind: 'storm',
  count,
  seconds: [2, longest],
  level: [1.1, 1.8],
});
const off = (count: number): Disturbance => ({ kind: 'off', count, seconds: [3, 7], level: [0, 0] });

export const activities: readonly Activity[] = [
  {
    name: 'seated radio watch',
    heartRateBpm: 66,
    breathsPerMinute: 14.5,
    wrongIntervals: { 'chest band': 0.003, 'adhesive logger': 0.0025 },
    motionDb: { 'chest band': 24, 'adhesive logger': 26 },
    disturbances: {
      'chest band': [wander(0.06), louder(1, [2, 3])],
      'adhesive logger': [wander(0.05), muscle(1, [0.02, 0.04])],
    },
  },
  {
    name: 'packing the sled',
    heartRateBpm: 96,
    breathsPerMinute: 20,
    wrongIntervals: { 'chest band': 0.02, 'adhesive logger': 0.012 },
    motionDb: { 'chest band': 15, 'adhesive logger': 17 },
    disturbances: {
      'chest band': [wander(0.1), louder(4, [1.5, 2.5]), muscle(3, [0.01, 0.03]), storm(1, 4)],
      'adhesive logger': [wander(0.08), louder(3, [1.5, 2.5]), muscle(4, [0.01, 0.03])],
    },
  },
  {
    name: 'approach hike',
    heartRateBpm: 118,
    breathsPerMinute: 24,
    wrongIntervals: { 'chest band': 0.02, 'adhesive logger': 0.025 },
    motionDb: { 'chest band': 12, 'adhesive logger': 11 },
    disturbances: {
      'chest band': [wander(0.1), louder(4, [1.4, 2]), muscle(3, [0.01, 0.03])],
      'adhesive logger': [wander(0.1), louder(5, [1.4, 2]), muscle(3, [0.01, 0.03]), storm(1, 4)],
    },
  },
  {
    name: 'uphill run',
    heartRateBpm: 166,
    breathsPerMinute: 38,
    wrongIntervals: { 'chest band': 0.05, 'adhesive logger': 0.08 },
    motionDb: { 'chest band': 8, 'adhesive logger': 6 },
    disturbances: {
      'chest band': [wander(0.15), louder(7, [1.3, 1.7]), muscle(5, [0.02, 0.04]), storm(2, 4)],
      'adhesive logger': [wander(0.15), louder(9, [1.3, 1.7]), muscle(5, [0.02, 0.04]), storm(3, 5), off(1)],
    },
  },
  {
    name: 'sled haul',
    heartRateBpm: 150,
    breathsPerMinute: 34,
    wrongIntervals: { 'chest band': 0.08, 'adhesive logger': 0.035 },
    motionDb: { 'chest band': 6, 'adhesive logger': 8 },
    disturbances: {
      'chest band': [wander(0.15), louder(9, [1.3, 1.7]), muscle(6, [0.02, 0.04]), storm(2, 5), off(1)],
      'adhesive logger': [wander(0.15), louder(5, [1.3, 1.7]), muscle(8, [0.02, 0.04]), storm(1, 4)],
    },
  },
];
