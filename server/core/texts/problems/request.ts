import type { ProblemTexts } from '../../problems.ts';

/** Texts about requests: media types, sizes, the token, and the parameters of an address. */
export const REQUEST_PROBLEMS = {
  'token-needed': {
    missing: 'This service needs its token. Send “Authorization: Bearer …”, or enter the token on the page.',
    wrong: 'This is not the token of the service. Check DYEWORKS_TOKEN.',
    costly:
      'Printed sizes, 64 subsamples, pictures in one piece and those of more than 2048 px take long, so they need the token. Send it, or ask for a smaller picture.',
  },
  'foreign-host': (host: string) =>
    `This service does not run under the name “${host}”. Use its own address, or add the name to DYEWORKS_HOST_NAMES.`,
  'foreign-origin':
    'The request comes from a page of another site, which may not use this service. Use the pages of this service.',
  'too-many-at-once': (atOnce: number) =>
    `You have more than ${atOnce} such calls under way, and as many wait. Wait for some of them, and send this one again.`,
  'service-busy': 'Too many callers ask for this at once. Try again in a few seconds.',
  'caller-left': 'The connection was closed before this call had its turn. Send it again.',
  'guest-budget': {
    own: 'You asked for more new pictures than guests may in this time. Ask for pictures that exist already, wait a while, or send the token.',
    all: 'Guests ask for more new pictures than this service makes for them. Try again in a few seconds.',
  },
  'foreign-site':
    'A page of another site asks for this, which only the pages of this service may do. Open a page of this service, or type the address.',
  'bad-request': {
    notHttp: 'The request is not valid HTTP, so Dyeworks closed the connection. Check the program that sends it.',
    notJson: 'The body is not valid JSON. Correct it and send it again.',
    unreadable: (reason: string) => `The request could not be read: ${reason}. Correct it and send it again.`,
  },
  'work-limit': (seconds: number) =>
    `This calculation takes more than ${seconds} s, so Dyeworks stopped it. Use fewer slots or finishes, or ask for less at once.`,
  'queue-full': (waiting: number) => `${waiting} calculations are waiting already. Try again when some have ended.`,
  'not-ready': {
    closing: 'The service is closing. Send the request to another instance, or wait until it has started again.',
    database: 'The database does not answer. Check the data folder and the log of the service.',
    folder: 'The data folder takes no files. Check its permissions and the free space on its disk.',
  },
  'unknown-field': (field: string) =>
    `The field “${field}” does not exist here, so Dyeworks saved nothing. Remove it or correct its name.`,
  internal:
    'Dyeworks has an internal error; your request is not the cause. Try again. If the error returns, report it to the developers of Dyeworks, with the log.',
  'media-type': {
    other:
      'This address does not accept the media type of the body. The API description at /docs lists the types it accepts.',
    json: 'This address accepts application/json. Send the request with that media type.',
    model: (types: readonly string[]) => `This media type is not a model. Send the model as ${types.join(', ')}.`,
    image: 'This media type is not an image. Send the file as image/png, image/jpeg, image/webp or image/ktx2.',
    import:
      'This media type is not a file of finishes. Send the file as text/csv, text/plain (CGATS.17) or application/xml (CxF3).',
  },
  'body-too-slow': {
    body: (seconds: number) =>
      `No data arrived for ${seconds} s, so Dyeworks closed the connection and stored nothing. Send the request again.`,
    headers: 'The headers of the request did not arrive in time, so Dyeworks closed the connection. Send it again.',
  },
  'json-too-complex': {
    depth: (limit: number) =>
      `The JSON has more than ${limit} levels of objects and lists. No call needs that many. Correct it and send it again.`,
    values: (limit: number) => `The JSON has more than ${limit} values. Send less at once.`,
  },
  'body-too-large': {
    body: (limit: number | undefined) =>
      `The file or request is too large${limit === undefined ? '' : `: at most ${Math.floor(limit / 1024)} KiB are allowed here`}. Send a smaller file, or less at once.`,
    file: (limit: number) =>
      `The model is larger than ${Math.floor(limit / 2 ** 20)} MiB. Send a lighter model, or raise DYEWORKS_BODY_LIMIT_MIB.`,
    model: (bytes: number, limit: number) =>
      `The model has ${Math.ceil(bytes / 2 ** 20)} MiB; ${Math.floor(limit / 2 ** 20)} MiB are allowed. Send a lighter model, or raise DYEWORKS_BODY_LIMIT_MIB.`,
  },
  'unknown-file': 'The preview is outdated. Load the page again.',
  'not-found': {
    address: (call: string) => `${call} does not exist. The API description at /docs lists all addresses.`,
    pictureName: 'This is not the name of a picture. Use the code of a variant, followed by .png, .webp or .jpg.',
  },
  'invalid-field': {
    missing: (field: string, where: string) => `The field “${field}” is missing in ${where}. Add it.`,
    schema: (where: string, fault: string) => `${where} ${fault}. Correct it and send it again.`,
    ifNoneMatch:
      'A change takes If-None-Match only as “*”, which means that nothing may be stored yet. Use If-Match for a tag.',
    author: (header: string) =>
      `The header ${header} is not percent-encoded UTF-8. Encode it as in an address: “Åsa, 5 %” becomes %C3%85sa%2C%205%20%25.`,
    widthWithoutHeight: 'Width and height belong together. Give both, or give size for a square.',
    printedSize: 'A printed size needs widthMm, heightMm and ppi. Give all three.',
    bleed: 'Bleed needs a printed size. Give widthMm, heightMm and ppi, or leave bleedMm out.',
    severalSizes: 'The picture has more than one size. Give size, or width and height, or widthMm, heightMm and ppi.',
    pictureSize: ({
      widthPx,
      heightPx,
      min,
      max,
      megapixels,
    }: Readonly<Record<'widthPx' | 'heightPx' | 'min' | 'max' | 'megapixels', number>>) =>
      `The picture would have ${widthPx} × ${heightPx} px. Each side can have ${min} to ${max} px, and the picture ${megapixels} million pixels. Change the size or the ppi.`,
    choice: 'A choice is written slot:finish, and each slot occurs once. Write it as choice=seat:OAK.',
  },
} as const satisfies ProblemTexts;

/** Texts about codes, names and notes in any request. */
export const CALL_PROBLEMS = {
  'invalid-code': (kind: string) =>
    `This is not a valid code for a ${kind}. Start with a letter or digit, then use letters, digits, dots, underscores or hyphens; 64 characters at most.`,
  'reserved-code': {
    inAddresses: (code: string, kind: string) =>
      `The code “${code}” is reserved because addresses use it. Choose another code for the ${kind}.`,
    endsInZip:
      'The code of a picture set cannot end in .zip, because the address of its ZIP file does. Choose another code.',
  },
  'name-too-long': (length: number, max: number) =>
    `The name has ${length} characters; ${max} are allowed. Shorten it.`,
  'invalid-name':
    'A name needs at least one visible character and cannot contain control characters. Correct the name.',
  'invalid-field': {
    noteTooLong: (length: number, max: number) => `The note has ${length} characters; ${max} are allowed. Shorten it.`,
    notANumber: (field: string, text: string) =>
      `${field} is “${text}”, which is not a number. Use digits, such as 38.1.`,
    decimalComma: (field: string, text: string) =>
      `${field} is “${text}”, which is not a number. Use a decimal point; decimal commas work only in CSV files separated by semicolons.`,
    unknownBackground: (text: string) =>
      `“${text}” is not a background colour. Use transparent, white, or a colour as rrggbb.`,
  },
} as const satisfies ProblemTexts;
