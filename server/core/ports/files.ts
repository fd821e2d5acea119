/** Bytes kept under the SHA-256 of their content. */
export interface StoredBytes {
  /** Lower-case hex. */
  readonly sha256: string;
  readonly bytes: number;
}

/**
 * Files by digest. An implementation writes to a temporary file, syncs and renames, so that a file is whole or absent,
 * and never changes one that is there.
 */
export interface Files {
  /** A path for a file that is being made; `adopt` takes it over, `discard` gives it up. */
  newTemporary(): Promise<string>;
  discard(path: string): Promise<void>;
  /** Moves a finished, synced temporary file in under its digest. */
  adopt(path: string, sha256: string): Promise<StoredBytes>;
  putBytes(bytes: Uint8Array): Promise<StoredBytes>;
  /**
   * Writes a stream to a temporary file, hashing on the way, and syncs it; `adopt` or `discard` it then.
   * Throws Problem `body-too-large` past the limit, and leaves nothing behind.
   */
  takeStream(stream: AsyncIterable<Uint8Array>, limitBytes: number): Promise<StoredBytes & { readonly path: string }>;
  /** SHA-256 of a file, read as a stream. */
  digest(path: string): Promise<string>;
  getPath(sha256: string): string;
  read(sha256: string): Promise<Uint8Array>;
  has(sha256: string): Promise<boolean>;
}

/** Pictures under a key that determines them, up to a number of bytes, least used out first. */
export interface PictureStore {
  get(key: string): Promise<StoredPicture | null>;
  put(key: string, bytes: Uint8Array, mediaType: string): Promise<StoredPicture>;
  /** Of these keys the ones there are pictures under, without reading them; it does not count as a use. */
  listHeld(keys: readonly string[]): Promise<ReadonlyMap<string, StoredBytes>>;
}

export interface StoredPicture {
  readonly bytes: Uint8Array;
  readonly sha256: string;
  readonly mediaType: string;
}
