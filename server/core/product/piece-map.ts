/** Which piece each triangle of a model belongs to: the survey's pieces, for a view in which a person points at them. */
export interface PieceMap {
  /** SHA-256 of the model. */
  readonly model: string;
  /** Ids of pieces; numbers below are places in this list. */
  readonly pieces: readonly string[];
  readonly parts: readonly PieceMapPart[];
}

/** A primitive as one node draws it. */
export interface PieceMapPart {
  readonly node: number;
  readonly mesh: number;
  readonly primitive: number;
  /** Piece of each triangle, in the order of the file; -1 for triangles of no piece. */
  readonly pieceOfTriangle: Int32Array;
}

/** What comes before the runs, as JSON. */
interface Head extends Pick<PieceMap, 'model' | 'pieces'> {
  readonly parts: readonly {
    readonly node: number;
    readonly mesh: number;
    readonly primitive: number;
    readonly triangles: number;
    readonly runs: number;
  }[];
}

/**
 * Packs a map: the length of the head as a 32-bit number, the head as JSON in UTF-8, spaces up to a multiple of four, then two
 * 32-bit numbers for each run of triangles of one piece: how many, and the piece. Little-endian. Triangles of a piece mostly
 * follow each other, so that a million take some kilobytes.
 */
export function packPieceMap({ model, pieces, parts }: PieceMap): Uint8Array {
  const runs = parts.map(({ pieceOfTriangle }) => listRuns(pieceOfTriangle));
  const head: Head = {
    model,
    pieces,
    parts: parts.map(({ node, mesh, primitive, pieceOfTriangle }, index) => ({
      node,
      mesh,
      primitive,
      triangles: pieceOfTriangle.length,
      runs: runs[index]!.length / 2,
    })),
  };
  const json = new TextEncoder().encode(JSON.stringify(head));
  const start = 4 + Math.ceil(json.length / 4) * 4;
  const packed = new Uint8Array(start + runs.reduce((sum, list) => sum + list.length, 0) * 4).fill(0x20, 0, start);
  packed.set(json, 4);
  const view = new DataView(packed.buffer);
  view.setUint32(0, start - 4, true);
  let at = start;
  for (const list of runs) {
    for (const value of list) {
      view.setInt32(at, value, true);
      at += 4;
    }
  }
  return packed;
}

function listRuns(pieces: Int32Array): number[] {
  const runs: number[] = [];
  for (let from = 0; from < pieces.length; ) {
    let to = from + 1;
    while (to < pieces.length && pieces[to] === pieces[from]) to++;
    runs.push(to - from, pieces[from]!);
    from = to;
  }
  return runs;
}

/** Reads what {@link packPieceMap} has packed. @throws RangeError if bytes are missing */
export function readPieceMap(packed: Uint8Array): PieceMap {
  const view = new DataView(packed.buffer, packed.byteOffset, packed.byteLength);
  const headBytes = view.getUint32(0, true);
  const head = JSON.parse(new TextDecoder().decode(packed.subarray(4, 4 + headBytes))) as Head;
  let at = 4 + headBytes;
  const parts = head.parts.map(({ triangles, runs, ...part }): PieceMapPart => {
    const pieceOfTriangle = new Int32Array(triangles);
    let from = 0;
    for (let run = 0; run < runs; run++, at += 8) {
      const to = from + view.getUint32(at, true);
      pieceOfTriangle.fill(view.getInt32(at + 4, true), from, to);
      from = to;
    }
    return { ...part, pieceOfTriangle };
  });
  return { model: head.model, pieces: head.pieces, parts };
}
