/**
 * Every way a call can be refused: a stable code, what kind of refusal it is, and a title.
 * The core has kinds; the HTTP room turns a kind into a status. Codes are never reused.
 */
export const PROBLEMS = {
  // the call itself
  'bad-request': { kind: 'invalid', title: 'The call could not be understood' },
  'unknown-field': { kind: 'invalid', title: 'A field is not known here' },
  'invalid-field': { kind: 'invalid', title: 'A field has a value that cannot be taken' },
  'invalid-code': { kind: 'invalid', title: 'A code is not well formed' },
  'reserved-code': { kind: 'invalid', title: 'This code is reserved' },
  'name-too-long': { kind: 'invalid', title: 'A name is too long' },
  'invalid-name': { kind: 'invalid', title: 'A name is not well formed' },
  'not-found': { kind: 'missing', title: 'Nothing is stored here' },
  'unknown-product': { kind: 'missing', title: 'No such product' },
  'unknown-line-code': { kind: 'missing', title: 'No such line' },
  'unknown-finish-code': { kind: 'missing', title: 'No such finish' },
  'unknown-variant': { kind: 'missing', title: 'No such variant' },
  'unknown-slot-key': { kind: 'missing', title: 'No such slot' },
  'unknown-delivery': { kind: 'missing', title: 'No such delivery' },
  'unknown-job': { kind: 'missing', title: 'No such job' },
  'unknown-file': { kind: 'missing', title: 'No such file' },
  'no-model': { kind: 'conflict', title: 'The product has no model yet' },
  'no-schedule': { kind: 'conflict', title: 'The product has no schedule yet' },
  'media-type': { kind: 'media-type', title: 'The body is of a type that is not taken here' },
  'body-too-large': { kind: 'too-large', title: 'The body is too large' },
  'foreign-origin': { kind: 'forbidden', title: 'The call comes from another site' },
  'foreign-host': { kind: 'forbidden', title: 'The call names another host' },
  'token-needed': { kind: 'unauthorised', title: 'A token is needed' },
  // models
  'model-unreadable': { kind: 'unprocessable', title: 'The file cannot be read as glTF' },
  'model-truncated': { kind: 'unprocessable', title: 'The file ends before it should' },
  'model-version': { kind: 'unprocessable', title: 'Only glTF 2.0 is taken' },
  'model-json': { kind: 'unprocessable', title: 'The JSON of the model cannot be read' },
  'geometry-undecodable': { kind: 'unprocessable', title: 'The compressed geometry of the model is damaged' },
  'model-outside-file': { kind: 'unprocessable', title: 'The model refers to a file outside itself' },
  'model-broken-reference': { kind: 'unprocessable', title: 'The model refers to something it does not hold' },
  'model-too-complex': { kind: 'unprocessable', title: 'The model is larger than can be handled' },
  'archive-unreadable': { kind: 'unprocessable', title: 'The zip cannot be read' },
  'archive-path': { kind: 'unprocessable', title: 'A path in the zip leaves it' },
  'archive-too-large': { kind: 'too-large', title: 'The zip unpacks to more than is taken' },
  'archive-missing-file': { kind: 'unprocessable', title: 'A file the model names is not in the zip' },
  'archive-no-model': { kind: 'unprocessable', title: 'The zip holds no single .gltf' },
  // repairs
  'invalid-repair': { kind: 'invalid', title: 'A repair is not well formed' },
  'repair-unfit': { kind: 'unprocessable', title: 'A repair does not fit the model' },
  'repair-would-lose': { kind: 'conflict', title: 'A repair would lose something' },
  'repair-broke-model': { kind: 'unprocessable', title: 'A repair would leave the model broken' },
  'stale-model': { kind: 'stale', title: 'The model has changed meanwhile' },
  'nothing-to-replay': { kind: 'conflict', title: 'There is nothing to replay' },
  'unknown-revision': { kind: 'missing', title: 'No such revision' },
  'no-variants-to-take': { kind: 'conflict', title: 'The model carries no variants' },
  'schedule-in-the-way': { kind: 'conflict', title: 'The product has a schedule already' },
  'unknown-budget': { kind: 'unprocessable', title: 'A budget named here is not known' },
  // images
  'image-type': { kind: 'media-type', title: 'The image is of a type that is not taken' },
  'image-unreadable': { kind: 'unprocessable', title: 'The image cannot be read' },
  'image-colour-model': { kind: 'unprocessable', title: 'The image is in a colour model that is not taken' },
  'image-too-large': { kind: 'too-large', title: 'The image has more pixels than are taken' },
  // trade
  'duplicate-code': { kind: 'conflict', title: 'This code is taken' },
  'duplicate-name': { kind: 'unprocessable', title: 'A name is used twice' },
  'unknown-finish': { kind: 'unprocessable', title: 'A finish named here is not stored' },
  'unknown-article': { kind: 'unprocessable', title: 'An article named here is not stored' },
  'unknown-line': { kind: 'unprocessable', title: 'A line named here is not stored' },
  'unknown-position': { kind: 'unprocessable', title: 'A position named here is not on the line' },
  'unknown-slot': { kind: 'unprocessable', title: 'A slot named here is not on the product' },
  'unknown-default': { kind: 'unprocessable', title: 'The default variant is not in the schedule' },
  'unknown-map': { kind: 'unprocessable', title: 'A map named here was not uploaded' },
  'unknown-supplied': { kind: 'unprocessable', title: 'A supplied material named here is not stored' },
  'slot-is-fixed': { kind: 'unprocessable', title: 'A fixed slot takes no finish' },
  'colour-incomplete': { kind: 'unprocessable', title: 'The colour is not a full specification' },
  'colour-unsupported': { kind: 'unprocessable', title: 'This way of stating a colour is not taken' },
  'import-unreadable': { kind: 'unprocessable', title: 'The file of finishes cannot be read' },
  'text-encoding': { kind: 'unprocessable', title: 'The text is in an encoding that is not taken' },
  'cell-formula': { kind: 'unprocessable', title: 'A cell holds a formula' },
  'spectrum-unreadable': { kind: 'unprocessable', title: 'The spectrum cannot be used' },
  'gloss-incomplete': { kind: 'unprocessable', title: 'The gloss reading cannot be used' },
  'reason-needed': { kind: 'unprocessable', title: 'A reason is needed' },
  'invalid-rule': { kind: 'invalid', title: 'A rule is not well formed' },
  'not-in-range': { kind: 'unprocessable', title: 'A finish named here is not in the range of the line' },
  'no-variant-left': { kind: 'conflict', title: 'A schedule would have no variant left' },
  'finish-in-use': { kind: 'conflict', title: 'The finish is in use' },
  'line-in-use': { kind: 'conflict', title: 'The line is in use' },
  'too-many-variants': { kind: 'unprocessable', title: 'More variants than the limit' },
  'nothing-to-expand': { kind: 'unprocessable', title: 'There is nothing to expand' },
  'stale-finishes': { kind: 'stale', title: 'Finishes have changed meanwhile' },
  'stale-line': { kind: 'stale', title: 'The line has changed since it was read' },
  'stale-schedule': { kind: 'stale', title: 'The schedule has changed since it was read' },
  'delivery-blocked': { kind: 'conflict', title: 'Findings stand against a delivery' },
  // pictures
  'finish-not-allowed': { kind: 'conflict', title: 'This finish may not go there' },
  'choice-forbidden': { kind: 'conflict', title: 'A rule of the line forbids this combination' },
  'swatch-kind': { kind: 'invalid', title: 'This kind of swatch is not made' },
  'picture-nothing-to-see': { kind: 'unprocessable', title: 'The model has no triangles to picture' },
  'picture-geometry-unreadable': { kind: 'unprocessable', title: 'No part of the model can be read for a picture' },
  'picture-map-unreadable': { kind: 'unprocessable', title: 'A map of the finish cannot be shown' },
  'picture-too-many-maps': { kind: 'unprocessable', title: 'A material has more maps than can be drawn' },
  'picture-too-large': { kind: 'unprocessable', title: 'The picture is larger than can be drawn' },
  'unknown-picture-set': { kind: 'missing', title: 'No such picture set' },
  'ready-picture-set': { kind: 'conflict', title: 'A ready picture set is always there' },
  'invalid-picture-set': { kind: 'invalid', title: 'A picture set is not well formed' },
  'file-name-template': { kind: 'invalid', title: 'A template for file names is not well formed' },
  'unknown-name-field': { kind: 'invalid', title: 'A template for file names names an unknown field' },
  'name-field-missing': { kind: 'unprocessable', title: 'A field of a file name has no value' },
  'file-name-empty': { kind: 'unprocessable', title: 'A file name would be empty' },
  'file-name-too-long': { kind: 'unprocessable', title: 'A file name would be too long' },
  'file-names-collide': { kind: 'unprocessable', title: 'Two files would have the same name' },
  'invalid-gtin': { kind: 'invalid', title: 'A GTIN is not well formed' },
  'nothing-to-picture': { kind: 'conflict', title: 'There is nothing to take pictures of' },
  'duplicate-gtin': { kind: 'unprocessable', title: 'A GTIN is used twice' },
  'unknown-set-file': { kind: 'missing', title: 'No such file in the picture set' },
  'nothing-to-print': { kind: 'conflict', title: 'There is nothing to print' },
  'sheet-too-long': { kind: 'unprocessable', title: 'The sheet would be too long' },
  'renderer-closing': { kind: 'busy', title: 'The studio is closing' },
  'renderer-missing': { kind: 'busy', title: 'There is no browser to take pictures with' },
  'renderer-busy': { kind: 'busy', title: 'The studio is full' },
  'renderer-failed': { kind: 'failed', title: 'The picture could not be taken' },
  'queue-full': { kind: 'busy', title: 'The queue is full' },
  internal: { kind: 'failed', title: 'Something went wrong here' },
} as const satisfies Record<string, { kind: ProblemKind; title: string }>;

export type ProblemKind =
  | 'invalid'
  | 'unauthorised'
  | 'forbidden'
  | 'missing'
  | 'conflict'
  | 'stale'
  | 'too-large'
  | 'media-type'
  | 'unprocessable'
  | 'busy'
  | 'failed';

export type ProblemCode = keyof typeof PROBLEMS;

export interface ProblemDetail {
  /** What was asked for, in one sentence with the next step. */
  readonly detail: string;
  readonly expected?: unknown;
  readonly received?: unknown;
  /** JSON pointer or path of the place in what was sent. */
  readonly where?: string;
  /** Findings or uses that stand against the call. */
  readonly findings?: readonly unknown[];
  readonly cause?: unknown;
}

/** A call refused for a reason of the trade or of the door. The message is fit to be read by the caller. */
export class Problem extends Error {
  override readonly name = 'Problem';
  readonly code: ProblemCode;
  readonly more: ProblemDetail;

  constructor(code: ProblemCode, more: ProblemDetail) {
    super(more.detail, more.cause === undefined ? undefined : { cause: more.cause });
    this.code = code;
    this.more = more;
  }

  get kind(): ProblemKind {
    return PROBLEMS[this.code].kind;
  }
}
