/** The protocol of the invented training day, with what each activity does to heart and recorders. */
export const recorders = ['chest band', 'adhesive logger'] as const;
export type RecorderName = (typeof recorders)[number];

/** How many disturbed stretches of each kind an activity has, how long they are (s) and how strong (in R heights). */
export interface Disturbance {
  readonly kind: 'baseline' | 'muscle' | 'motion' | 'storm' | 'off';
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
  readonly disturbances: Readonly<Record<RecorderName, readonly Disturbance[]>>;
}

const motion = (count: number, level: readonly [number, number]): Disturbance => ({
  kind: 'motion',
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
    disturbances: {
      'chest band': [wander(0.06), motion(1, [0.15, 0.3])],
      'adhesive logger': [wander(0.05), muscle(1, [0.02, 0.04])],
    },
  },
  {
    name: 'packing the sled',
    heartRateBpm: 96,
    breathsPerMinute: 20,
    wrongIntervals: { 'chest band': 0.02, 'adhesive logger': 0.012 },
    disturbances: {
      'chest band': [wander(0.15), motion(4, [0.2, 0.5]), muscle(3, [0.05, 0.12]), storm(1, 4)],
      'adhesive logger': [wander(0.1), motion(3, [0.2, 0.4]), muscle(4, [0.04, 0.1])],
    },
  },
  {
    name: 'approach hike',
    heartRateBpm: 118,
    breathsPerMinute: 24,
    wrongIntervals: { 'chest band': 0.02, 'adhesive logger': 0.025 },
    disturbances: {
      'chest band': [wander(0.15), motion(4, [0.2, 0.5]), muscle(3, [0.04, 0.1])],
      'adhesive logger': [wander(0.15), motion(5, [0.3, 0.5]), muscle(3, [0.05, 0.12]), storm(1, 4)],
    },
  },
  {
    name: 'uphill run',
    heartRateBpm: 166,
    breathsPerMinute: 38,
    wrongIntervals: { 'chest band': 0.05, 'adhesive logger': 0.08 },
    disturbances: {
      'chest band': [wander(0.25), motion(7, [0.3, 0.6]), muscle(5, [0.06, 0.15]), storm(2, 4)],
      'adhesive logger': [wander(0.3), motion(9, [0.3, 0.7]), muscle(5, [0.08, 0.16]), storm(3, 5), off(1)],
    },
  },
  {
    name: 'sled haul',
    heartRateBpm: 150,
    breathsPerMinute: 34,
    wrongIntervals: { 'chest band': 0.08, 'adhesive logger': 0.035 },
    disturbances: {
      'chest band': [wander(0.3), motion(9, [0.3, 0.7]), muscle(6, [0.08, 0.18]), storm(2, 5), off(1)],
      'adhesive logger': [wander(0.2), motion(5, [0.3, 0.5]), muscle(8, [0.1, 0.2]), storm(1, 4)],
    },
  },
];
