/** A beat of a window, or a wave that may be one. */
export interface WindowBeat {
  /** Working sample of the middle of the complex. */
  readonly at: number;
  readonly probability: number;
  /** Working sample of the apex, and which way it points. */
  readonly apex: number;
  readonly up: boolean;
  /** The lead that the apex was seen in. */
  readonly lead: number;
  /** Found by its shape among noise, which also says where the apex is. */
  readonly inNoise: boolean;
}
