import type { ByteSource } from '../../src/formats/bytes/source';

/** One kind of file: sound examples, and how it is read. */
export interface FuzzTarget {
  readonly name: string;
  readonly seeds: readonly Uint8Array[];
  read(source: ByteSource): Promise<unknown>;
}
