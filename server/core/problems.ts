/**
 * Every reason to refuse a request: a stable code, a kind and a title. The sentences are in `texts/problems/`.
 * The core has kinds; the HTTP code turns a kind into a status. Codes are never reused.
 */
export const PROBLEMS = {
  // the request itself
  'bad-request': { kind: 'invalid', title: 'The request could not be read' },
  'unknown-field': { kind: 'invalid', title: 'The request has an unknown field' },
  'invalid-field': { kind: 'invalid', title: 'A field has an invalid value' },
  'invalid-code': { kind: 'invalid', title: 'The code is not valid' },
  'reserved-code': { kind: 'invalid', title: 'This code is reserved' },
  'name-too-long': { kind: 'invalid', title: 'The name is too long' },
  'invalid-name': { kind: 'invalid', title: 'The name is not valid' },
  'not-found': { kind: 'missing', title: 'No such resource' },
  'unknown-product': { kind: 'missing', title: 'No such product' },
  'unknown-line-code': { kind: 'missing', title: 'No such line' },
  'unknown-finish-code': { kind: 'missing', title: 'No such finish' },
  'unknown-variant': { kind: 'missing', title: 'No such variant' },
  'unknown-slot-key': { kind: 'missing', title: 'No such slot' },
  'unknown-delivery': { kind: 'missing', title: 'No such delivery' },
  'unknown-form': { kind: 'missing', title: 'The delivery has no such file' },
  'no-variants-asked': { kind: 'invalid', title: 'The call names no variant' },
  'sku-template': { kind: 'invalid', title: 'The SKU template is not valid' },
  'no-delivery': { kind: 'missing', title: 'There is no current delivery' },
  'delivery-withdrawn': { kind: 'gone', title: 'The delivery was withdrawn' },
  'already-withdrawn': { kind: 'conflict', title: 'The delivery is already withdrawn' },
  'withdrawal-needs-reason': { kind: 'unprocessable', title: 'The withdrawal has no reason' },
  'nothing-to-split': { kind: 'unprocessable', title: 'The delivery cannot be split this way' },
  'too-many-parts': { kind: 'unprocessable', title: 'The split has too many files' },
  'samples-unknown': { kind: 'conflict', title: 'The finishes of this delivery are no longer known' },
  'usd-too-large': { kind: 'unprocessable', title: 'The file in USD would be too large' },
  'usd-nothing-to-show': { kind: 'unprocessable', title: 'The delivery draws nothing' },
  'unknown-job': { kind: 'missing', title: 'No such job' },
  'unknown-file': { kind: 'missing', title: 'No such file' },
  'no-model': { kind: 'conflict', title: 'The product has no model' },
  'no-schedule': { kind: 'conflict', title: 'The product has no schedule' },
  'media-type': { kind: 'media-type', title: 'This media type is not supported here' },
  'body-too-slow': { kind: 'too-slow', title: 'The request takes too long to arrive' },
  'json-too-complex': { kind: 'invalid', title: 'The JSON is too complex' },
  'body-too-large': { kind: 'too-large', title: 'The request body is too large' },
  'foreign-origin': { kind: 'forbidden', title: 'The request comes from another site' },
  'foreign-site': { kind: 'forbidden', title: 'A page of another site asks for this' },
  'foreign-host': { kind: 'forbidden', title: 'The request names another host' },
  'too-many-at-once': { kind: 'too-many', title: 'Too many calls at once' },
  'guest-budget': { kind: 'too-many', title: 'Too many new pictures' },
  'service-busy': { kind: 'busy', title: 'The service is busy' },
  'token-needed': { kind: 'unauthorised', title: 'The access token is missing or wrong' },
  // people and what they may do
  'not-allowed': { kind: 'forbidden', title: 'Your role does not allow this' },
  'another-person': { kind: 'forbidden', title: 'The call names another person' },
  'sign-in-refused': { kind: 'unauthorised', title: 'The sign-in was refused' },
  'sign-in-busy': { kind: 'busy', title: 'Too many people sign in at once' },
  'house-unreachable': { kind: 'busy', title: 'The sign-in of the house does not answer' },
  'too-many-attempts': { kind: 'too-many', title: 'There were too many wrong attempts' },
  'too-many-calls': { kind: 'too-many', title: 'There were too many calls' },
  'account-needed': { kind: 'forbidden', title: 'The call needs a signed-in person' },
  'weak-passphrase': { kind: 'unprocessable', title: 'The passphrase is too weak' },
  'wrong-passphrase': { kind: 'unprocessable', title: 'The present passphrase is wrong' },
  'unknown-person': { kind: 'missing', title: 'No such person' },
  'duplicate-person': { kind: 'conflict', title: 'Another person has this name' },
  'last-owner': { kind: 'conflict', title: 'There must be an owner' },
  'too-many-tokens': { kind: 'conflict', title: 'The person has too many tokens' },
  'unknown-session': { kind: 'missing', title: 'No such session' },
  'unknown-token': { kind: 'missing', title: 'No such token' },
  'reset-expired': { kind: 'missing', title: 'The link is not valid' },
  // models
  'model-unreadable': { kind: 'unprocessable', title: 'The file cannot be read as glTF' },
  'model-truncated': { kind: 'unprocessable', title: 'The model file is incomplete' },
  'model-version': { kind: 'unprocessable', title: 'Only glTF 2.0 is supported' },
  'model-json': { kind: 'unprocessable', title: 'The JSON of the model cannot be read' },
  'geometry-undecodable': { kind: 'unprocessable', title: 'The compressed geometry is damaged' },
  'model-outside-file': { kind: 'unprocessable', title: 'The model needs a file that is not part of it' },
  'model-broken-reference': { kind: 'unprocessable', title: 'The model is damaged' },
  'model-too-complex': { kind: 'unprocessable', title: 'The model is too complex' },
  'model-took-too-long': { kind: 'unprocessable', title: 'Reading the model took too long' },
  'archive-unreadable': { kind: 'unprocessable', title: 'The ZIP file cannot be read' },
  'archive-path': { kind: 'unprocessable', title: 'A path leads out of the ZIP file' },
  'archive-too-large': { kind: 'too-large', title: 'The unpacked ZIP file is too large' },
  'archive-missing-file': { kind: 'unprocessable', title: 'A file is missing from the ZIP file' },
  'archive-format': { kind: 'unprocessable', title: 'The file is not an archive of a line' },
  'archive-newer': { kind: 'unprocessable', title: 'The archive is from a newer version' },
  'archive-digest': { kind: 'unprocessable', title: 'The archive is damaged' },
  'archive-records': { kind: 'unprocessable', title: 'The records of the archive are not in order' },
  'archive-conflicts': { kind: 'conflict', title: 'Things of the archive exist already' },
  'archive-no-model': { kind: 'unprocessable', title: 'The ZIP file does not contain exactly one .gltf' },
  // repairs
  'invalid-repair': { kind: 'invalid', title: 'The repair is not valid' },
  'repair-unfit': { kind: 'unprocessable', title: 'The repair does not fit the model' },
  'repair-would-lose': { kind: 'conflict', title: 'The repair would lose something' },
  'repair-broke-model': { kind: 'unprocessable', title: 'The repair would break the model' },
  'stale-model': { kind: 'stale', title: 'The model has changed since it was read' },
  'nothing-to-replay': { kind: 'conflict', title: 'The preparation is empty' },
  'unknown-revision': { kind: 'missing', title: 'No such revision' },
  'no-variants-to-take': { kind: 'conflict', title: 'The model contains no variants' },
  'schedule-in-the-way': { kind: 'conflict', title: 'The product already has a schedule' },
  'unknown-budget': { kind: 'unprocessable', title: 'No such budget' },
  // images
  'image-type': { kind: 'media-type', title: 'This image type is not supported' },
  'image-unreadable': { kind: 'unprocessable', title: 'The image cannot be read' },
  'image-colour-model': { kind: 'unprocessable', title: 'This colour model is not supported' },
  'image-too-large': { kind: 'too-large', title: 'The image is too large' },
  // trade
  'duplicate-code': { kind: 'conflict', title: 'The code is already in use' },
  'duplicate-name': { kind: 'unprocessable', title: 'The name is already in use' },
  'unknown-finish': { kind: 'unprocessable', title: 'The named finish does not exist' },
  'unknown-article': { kind: 'unprocessable', title: 'No such article' },
  'unknown-line': { kind: 'unprocessable', title: 'The named line does not exist' },
  'unknown-position': { kind: 'unprocessable', title: 'No such position' },
  'unknown-slot': { kind: 'unprocessable', title: 'The product has no such slot' },
  'unknown-default': { kind: 'unprocessable', title: 'The default variant is not in the schedule' },
  'unknown-map': { kind: 'unprocessable', title: 'No such image' },
  'unknown-supplied': { kind: 'unprocessable', title: 'No such supplied material' },
  'slot-is-fixed': { kind: 'unprocessable', title: 'The slot is fixed' },
  'colour-incomplete': { kind: 'unprocessable', title: 'The colour specification is incomplete' },
  'colour-unsupported': { kind: 'unprocessable', title: 'This colour specification is not supported' },
  'import-unreadable': { kind: 'unprocessable', title: 'The file of finishes cannot be read' },
  'text-encoding': { kind: 'unprocessable', title: 'This text encoding is not supported' },
  'cell-formula': { kind: 'unprocessable', title: 'A cell contains a formula' },
  'spectrum-unreadable': { kind: 'unprocessable', title: 'The spectrum cannot be used' },
  'gloss-incomplete': { kind: 'unprocessable', title: 'The gloss reading cannot be used' },
  'reason-needed': { kind: 'unprocessable', title: 'A reason is missing' },
  'invalid-rule': { kind: 'invalid', title: 'The rule is not valid' },
  'not-in-range': { kind: 'unprocessable', title: 'The finish is not in the range of the line' },
  'no-variant-left': { kind: 'conflict', title: 'The schedule would have no variant left' },
  'finish-in-use': { kind: 'conflict', title: 'The finish is in use' },
  'line-in-use': { kind: 'conflict', title: 'The line is in use' },
  'too-many-variants': { kind: 'unprocessable', title: 'Too many variants' },
  'nothing-to-expand': { kind: 'unprocessable', title: 'There is nothing to expand' },
  'stale-finishes': { kind: 'stale', title: 'The finishes have changed since they were read' },
  'stale-finish': { kind: 'stale', title: 'The finish has changed since it was read' },
  'stale-article': { kind: 'stale', title: 'The article has changed since it was read' },
  'stale-product': { kind: 'stale', title: 'The product has changed since it was read' },
  'stale-slot': { kind: 'stale', title: 'The slot has changed since it was read' },
  'stale-preparation': { kind: 'stale', title: 'The preparation has changed since it was read' },
  'stale-picture-set': { kind: 'stale', title: 'The picture set has changed since it was read' },
  'stale-budget': { kind: 'stale', title: 'The size budget has changed since it was read' },
  'stale-line': { kind: 'stale', title: 'The line has changed since it was read' },
  'stale-schedule': { kind: 'stale', title: 'The schedule has changed since it was read' },
  'delivery-blocked': { kind: 'conflict', title: 'Findings block the delivery' },
  // pictures
  'finish-not-allowed': { kind: 'conflict', title: 'The slot does not allow this finish' },
  'choice-forbidden': { kind: 'conflict', title: 'A rule of the line forbids this combination' },
  'swatch-kind': { kind: 'invalid', title: 'This swatch is not available' },
  'picture-nothing-to-see': { kind: 'unprocessable', title: 'The picture would be empty' },
  'picture-geometry-unreadable': { kind: 'unprocessable', title: 'The geometry cannot be shown' },
  'picture-map-unreadable': { kind: 'unprocessable', title: 'A map of the finish cannot be shown' },
  'picture-too-many-maps': { kind: 'unprocessable', title: 'A material has too many maps' },
  'picture-too-large': { kind: 'unprocessable', title: 'The picture is too large' },
  'unknown-picture-set': { kind: 'missing', title: 'No such picture set' },
  'ready-picture-set': { kind: 'conflict', title: 'A built-in picture set cannot be deleted' },
  'invalid-picture-set': { kind: 'invalid', title: 'The picture set is not valid' },
  'file-name-template': { kind: 'invalid', title: 'The file name template is not valid' },
  'unknown-name-field': { kind: 'invalid', title: 'The file name template has an unknown field' },
  'name-field-missing': { kind: 'unprocessable', title: 'A field of the file name has no value' },
  'file-name-empty': { kind: 'unprocessable', title: 'The file name would be empty' },
  'file-name-too-long': { kind: 'unprocessable', title: 'The file name would be too long' },
  'file-names-collide': { kind: 'unprocessable', title: 'Two files would have the same name' },
  'invalid-gtin': { kind: 'invalid', title: 'The GTIN is not valid' },
  'nothing-to-picture': { kind: 'conflict', title: 'There is nothing to show in pictures' },
  'duplicate-gtin': { kind: 'unprocessable', title: 'The GTIN is already in use' },
  'unknown-set-file': { kind: 'missing', title: 'No such file in the picture set' },
  'nothing-to-print': { kind: 'conflict', title: 'There is nothing to print' },
  'sheet-too-long': { kind: 'unprocessable', title: 'The sheet would be too long' },
  'renderer-closing': { kind: 'busy', title: 'The picture service is closing' },
  'renderer-missing': { kind: 'busy', title: 'No browser for pictures was found' },
  'renderer-busy': { kind: 'busy', title: 'The picture service is busy' },
  'caller-left': { kind: 'busy', title: 'The caller left before the answer' },
  'renderer-frozen': { kind: 'busy', title: 'The graphics of this machine do not answer' },
  'renderer-failed': { kind: 'failed', title: 'The picture could not be made' },
  // the data folder
  'data-folder-in-use': { kind: 'unavailable', title: 'The data folder is in use' },
  'work-limit': { kind: 'unprocessable', title: 'The calculation takes too long' },
  'not-ready': { kind: 'busy', title: 'The service is not ready' },
  'storage-full': { kind: 'no-space', title: 'The disk is full' },
  'storage-read-only': { kind: 'unavailable', title: 'The data folder is read-only' },
  'storage-not-permitted': { kind: 'unavailable', title: 'The data folder cannot be used' },
  'storage-failed': { kind: 'unavailable', title: 'The disk reports an error' },
  'storage-busy': { kind: 'busy', title: 'The database is locked' },
  'database-damaged': { kind: 'unavailable', title: 'The database is damaged' },
  'database-newer': { kind: 'unavailable', title: 'The database is from a newer version' },
  'folder-not-empty': { kind: 'conflict', title: 'The folder is not empty' },
  'folder-busy': { kind: 'unavailable', title: 'Another program fills the folder' },
  'backup-damaged': { kind: 'unprocessable', title: 'The backup is damaged' },
  'backup-newer': { kind: 'unprocessable', title: 'The backup is from a newer version' },
  'file-lost': { kind: 'unavailable', title: 'A stored file is missing' },
  'work-cancelled': { kind: 'conflict', title: 'The work was cancelled' },
  'queue-full': { kind: 'busy', title: 'The queue is full' },
  internal: { kind: 'failed', title: 'An internal error occurred' },
} as const satisfies Record<string, { kind: ProblemKind; title: string }>;

export type ProblemKind =
  | 'invalid'
  | 'unauthorised'
  | 'forbidden'
  | 'missing'
  | 'gone'
  | 'conflict'
  | 'stale'
  | 'too-large'
  | 'too-slow'
  | 'too-many'
  | 'media-type'
  | 'unprocessable'
  | 'busy'
  | 'no-space'
  | 'unavailable'
  | 'failed';

export type ProblemCode = keyof typeof PROBLEMS;

export interface ProblemDetail {
  /** What happened, what was expected and what to do next: a text of `texts/problems/`. */
  readonly detail: string;
  readonly expected?: unknown;
  readonly received?: unknown;
  /** JSON pointer or path of the place in the request or file. */
  readonly where?: string;
  /** Findings or uses that block the request. */
  readonly findings?: readonly unknown[];
  /** Seconds to wait before the next try; an answer has them as `Retry-After`. */
  readonly retryAfterS?: number;
  readonly cause?: unknown;
}

/** A refused request. The message is for the person or program that made the request. */
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

/**
 * A text of the catalogue: a sentence, or a pure function from values to one. It says what happened, what was expected
 * and what to do next.
 */
type ProblemText = string | ((...values: never[]) => string);

/** Texts by the code they belong to. A code with several texts names each of them. */
export type ProblemTexts = {
  readonly [Code in ProblemCode]?: ProblemText | Readonly<Record<string, ProblemText>>;
};
