/** A GLB under way: its description is there as soon as its first bytes are, and its bytes when all are. */
export interface ArrivingGlb {
  /** The JSON of the file, unchecked. */
  readonly json: unknown;
  readonly bytes: Promise<Uint8Array>;
}

const MAGIC = 0x46546c67;
const JSON_CHUNK = 0x4e4f534a;
/** Header of the file, and of its first chunk (glTF 2.0, “GLB File Format Specification”). */
const HEAD_BYTES = 20;

/**
 * Fetches a GLB, and reads its JSON before the rest has arrived.
 * @param onProgress gets the bytes so far, and all of them; null where the server does not say
 * @throws Error for an answer that is no GLB, and what `fetch` throws
 */
export async function fetchGlb(
  url: string,
  signal: AbortSignal,
  onProgress: (loaded: number, total: number | null) => void,
): Promise<ArrivingGlb> {
  const answer = await fetch(url, { signal });
  if (!answer.ok || !answer.body) throw new Error(`${url}: ${answer.status}`);
  const reader = answer.body.getReader();
  const length = Number(answer.headers.get('content-length'));
  // of compressed content, the length is that on the way
  const total = length > 0 && !answer.headers.has('content-encoding') ? length : null;
  const chunks: Uint8Array[] = [];
  let loaded = 0;

  async function read(): Promise<boolean> {
    const { done, value } = await reader.read();
    if (done) return false;
    chunks.push(value);
    loaded += value.length;
    onProgress(loaded, total);
    return true;
  }

  async function readTo(bytes: number): Promise<Uint8Array> {
    while (loaded < bytes && (await read()));
    const joined = join(chunks, loaded);
    chunks.splice(0, chunks.length, joined);
    return joined;
  }

  const head = await readTo(HEAD_BYTES);
  const view = new DataView(head.buffer, head.byteOffset, head.byteLength);
  if (head.length < HEAD_BYTES || view.getUint32(0, true) !== MAGIC || view.getUint32(16, true) !== JSON_CHUNK) {
    void reader.cancel();
    throw new Error(`${url} is no GLB`);
  }
  const end = HEAD_BYTES + view.getUint32(12, true);
  const start = await readTo(end);
  const json: unknown = JSON.parse(new TextDecoder().decode(start.subarray(HEAD_BYTES, end)));
  const bytes = (async () => {
    while (await read());
    return join(chunks, loaded);
  })();
  bytes.catch(() => undefined);
  return { json, bytes };
}

function join(chunks: readonly Uint8Array[], length: number): Uint8Array {
  if (chunks.length === 1) return chunks[0]!;
  const joined = new Uint8Array(length);
  let at = 0;
  for (const chunk of chunks) {
    joined.set(chunk, at);
    at += chunk.length;
  }
  return joined;
}
