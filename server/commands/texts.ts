import { PASSPHRASE_LENGTH } from '../core/access/passphrase.ts';
import type { Finding } from '../core/product/finding.ts';
import { groupFindings } from '../core/product/group-findings.ts';
import type { Slot } from '../core/product/slot.ts';
import type { Survey } from '../core/product/survey.ts';
import { count, formatBytes } from '../core/texts/format-text.ts';

/** How the command is called; printed by `dyeworks --help`, and after a wrong call. */
export const USAGE = `Usage:
  dyeworks serve
      Serve the pages and the API. Environment variables hold the settings; the README lists them.
  dyeworks survey model.glb [--json] [PRODUCT]
      Measure a model, and list what must be fixed before it can have finishes.
  dyeworks repair model.glb --proposals -o out.glb [--json] [PRODUCT]
      Make the repairs that Dyeworks proposes for a model. --list prints them as JSON instead.
      --repairs steps.json makes the repairs in a file. --preparation steps.json also leaves out those that do not fit.
  dyeworks deliver model.glb JOB -o out.glb [--names name|code]
      Write one GLB with every variant.
  dyeworks deliver model.glb JOB -o folder|bundle.zip --forms model,variants,samples [--split-by article|grade]
      Write several forms of one delivery, with its manifest: also parts, usdz, usd, feed, and compressed ones such as
      meshopt-webp. feed needs --address.
  dyeworks feed model.glb JOB -o feed.csv|feed.json|feed.jsonld --address https://finishes.example
      Write the data of a delivery for shops. Its addresses begin with --address.
  dyeworks pictures model.glb JOB -o folder [--views front,three-quarter] [--variants A,B] [--size 512]
                    [--format png|webp|jpg] [--background white|transparent]
      Make a picture of every variant.
  dyeworks catalogue model.glb JOB -o catalogue.zip [--size 512]
      Write a zip with the schedule, finishes, swatches and a picture of every variant.
  dyeworks import measurements.txt -o finishes.json [--family paint] [--article CODE] [--illuminant D65]
                  [--observer 10deg] [--geometry di:8] [--partial] [--dry-run] [--json]
      Convert measurements (CGATS.17, CxF3 or CSV) to finishes. The options fill in what the file does not state.
      --partial leaves out lines that cannot be converted. --dry-run writes no file.
  dyeworks swatches finishes.json -o folder [--kind chip|sphere|panel|cutting] [--size 256]
                    [--format png|webp|jpg] [--json]
      Make a picture of every finish.
  dyeworks user add NAME [--role viewer|editor|approver|owner] [--name "Full Name"]
  dyeworks user reset NAME [--role ROLE]
  dyeworks user list
      Manage the people of the data folder DYEWORKS_DATA. The passphrase is the first line of the standard input.
      reset sets a new passphrase and enables the account. The first person must be an owner.
  dyeworks check [--mend] [--unused-days 7] [--json]
      Check the data folder while no service uses it: every digest and every reference. --mend deletes what is not needed,
      makes again what can be made, and sets damaged files aside. DYEWORKS_DATA names the folder.
  dyeworks export LINE -o line.zip [--json]
      Write a whole line of the data folder DYEWORKS_DATA as one archive, also while a service uses it. The home
      page of another Dyeworks imports it.
  dyeworks backup -o FOLDER [--link] [--json]
      Copy the data folder DYEWORKS_DATA as it is at one moment, also while a service uses it. The folder appears when the
      copy is complete. --link links the files instead of copying them, where the disk is the same.
  dyeworks restore FOLDER --data NEW [--json]
      Make a new data folder from a backup, and compare every file with its digest.
  dyeworks audit verify
      Check that no entry of the audit was changed or removed. Exit status 1 where one was.
JOB names the files of a product: --finishes finishes.json --schedule schedule.csv [--preparation steps.json]
    [--product product.json] [--json] [--watch]
    A product file holds the fields of the API (code, name, class …), its slots and its line. --watch works again whenever
    one of the files changes.
PRODUCT describes the product: [--class dining-chair] [--size 460x520x820] [--mount floor] [--budget NAME]
Exit status: 0 done, 1 findings block, lines are refused or the data is not in order, 2 wrong call or failure.`;

/** The files that commands read. */
export const INPUTS = {
  model: 'a model',
  measurements: 'a measurement file',
  finishes: 'a file of finishes',
  account: 'a sign-in name',
  backup: 'the folder of a backup',
  line: 'the code of a line',
} as const;

const HELP = 'Run dyeworks --help for the options.';

/** Errors in a call. Each text says what was expected and, unless it is obvious, what to do next. */
export const CALL_TEXTS = {
  unknownCommand: (command: string) => `Unknown command “${command}”.\n${USAGE}`,
  unreadableArguments: (reason: string) => `${reason} ${HELP}`,
  wrongFiles: (expected: readonly string[], given: number) =>
    `This command needs ${expected.join(' and ')}, but the call names ${given === 0 ? 'no file' : count(given, 'file')}. ${HELP}`,
  missingOption: (name: string, short: string | undefined) =>
    `The option --${name}${short ? ` (-${short})` : ''} is missing. ${HELP}`,
  missingImportOutput: `The option --output (-o) is missing. Only --dry-run works without it. ${HELP}`,
  missingRepairs: `The call names no repairs. Add --proposals, or --repairs with a file. ${HELP}`,
  wrongAddress: (given: unknown) =>
    `--address takes where shops find the files, such as https://finishes.example${given === undefined ? '' : `, not “${given}”`}.`,
  oneSource: `--preparation cannot be combined with --repairs or --proposals. ${HELP}`,
  wrongChoice: (name: string, choices: readonly string[], given: unknown) =>
    `--${name} takes ${choices.join(', ')}, not “${given}”.`,
  wrongProductSize: (given: string) =>
    `--size takes width × depth × height in mm, such as 460x520x820, not “${given}”.`,
  wrongPictureSize: (minPx: number, maxPx: number) =>
    `--size takes a whole number of pixels from ${minPx} to ${maxPx}.`,
  wrongUserCommand: `The command is dyeworks user add, reset or list. ${HELP}`,
  wrongAuditCommand: `The command is dyeworks audit verify. ${HELP}`,
  missingPassphrase: 'The passphrase is missing. Type it, or send it as the first line of the standard input.',
  wrongDays: (value: unknown) => `--unused-days takes a number of days, 0 or more, not “${value}”.`,
  noData: (folder: string) => `${folder} has no database of Dyeworks. Set DYEWORKS_DATA to the data folder.`,
  portInUse: (port: number) =>
    `Another program uses port ${port}. Stop that program, or set DYEWORKS_PORT to another port.`,
} as const;

/** Errors in a file that a call names. */
export const FILE_TEXTS = {
  wrongModelType: (path: string) => `${path} is not a .glb, .gltf or .zip file.`,
  unreadable: (path: string, reason: string) => `Dyeworks cannot read ${path}: ${reason}`,
  notJson: (path: string, reason: string) => `${path} is not valid JSON: ${reason}`,
  wrongSchedule: (path: string) =>
    `${path} must begin with the header “code,name,” and the slots, and must have at least one row.`,
  noFinishes: (path: string) =>
    `${path} has no "finishes". The expected form is {"articles": {CODE: …}, "finishes": {CODE: …}}.`,
  unknownArticle: (where: string, article: string | undefined) =>
    `${where} names the article “${article}”, which is not in the file.`,
  notAnImage: (place: string) => `${place}, but that is not a PNG, JPEG, WebP or KTX2 file in the same folder.`,
  notAMaterial: (place: string) => `${place}, but that is not a GLB of one material in the same folder.`,
  names: (where: string, name: string) => `${where} names “${name}”`,
  brokenImage: (place: string, reason: string) => `${place}. ${reason}`,
  unreadableImage: 'Dyeworks cannot read the image. Export it again.',
  tooManyPixels: 'it has too many pixels',
  wrongForm: (where: string, reason: string | undefined, property: string | undefined) =>
    `${where} ${reason}${property ? `: ${property}` : ''}.`,
} as const;

/** Results of commands. */
export const RESULT_TEXTS = {
  serving: (address: string) => `Dyeworks is at ${address}`,
  notClosed: 'Dyeworks did not close in time and ends now. Open jobs continue at the next start.',
  delivered: (path: string, variants: number, bytes: number, sha256: string) =>
    `${path}: ${count(variants, 'variant')}, ${bytes} bytes, sha256 ${sha256}`,
  check: (passed: boolean, check: string, detail: string) =>
    `  ${passed ? 'passed' : 'same as in the model'}  ${check}: ${detail}`,
  repair: (outcome: string, repair: string, message: string) => `  ${outcome.padEnd(13)} ${repair}: ${message}`,
  repaired: (path: string, verdict: string, bytes: number, sha256: string) =>
    `${path}: ${verdict}, ${bytes} bytes, sha256 ${sha256}`,
  swatches: (swatches: number, folder: string) => `${count(swatches, 'swatch', 'swatches')} in ${folder}`,
  pictures: (pictures: number, folder: string) => `${count(pictures, 'picture')} in ${folder}`,
  feed: (variants: number, path: string) => `${count(variants, 'variant')} in ${path}`,
  catalogue: (files: number, path: string) => `${count(files, 'file')} in ${path}`,
  progress: (done: number, total: number | undefined) => (total === undefined ? `${done}` : `${done} of ${total}`),
  watching: (paths: readonly string[]) => `Waiting for changes in ${paths.join(', ')}. Ctrl+C ends.`,
  nothingToImport: 'No file written: no line can be imported. Correct the lines above, and try again.',
  importRefused: (lines: number) =>
    `No file written: ${count(lines, 'line')} refused. Correct the file, or add --partial to leave out refused lines.`,
  wouldImport: (finishes: number) => `A file of ${count(finishes, 'finish', 'finishes')} would be written.`,
  imported: (finishes: number, path: string) => `${count(finishes, 'finish', 'finishes')} in ${path}`,
  newLine: (line: number, parts: readonly string[]) => `  new      line ${line}  ${parts.join('  ')}`,
  refusedLine: (line: number, finish: string | null, code: string, message: string) =>
    `  refused  line ${line}  ${finish ?? 'no code'}  ${code}: ${message}`,
  exported: (path: string, line: string, files: number, bytes: number) =>
    `${path}: the line ${line}, ${count(files, 'file')}, ${formatBytes(bytes)}`,
  backedUp: (folder: string, { files, bytes }: { files: number; bytes: number }) =>
    `${folder}: ${count(files, 'file')} and the database, ${formatBytes(bytes)}, every digest checked`,
  restored: (folder: string, { at, files, bytes }: { at: string; files: number; bytes: number }) =>
    `${folder}: the state of ${at}, ${count(files, 'file')} and the database, ${formatBytes(bytes)}, every digest checked. Start it with DYEWORKS_DATA.`,
  askPassphrase: `Passphrase (${PASSPHRASE_LENGTH.min} characters or more): `,
  auditWhole: (entries: number, digest: string) =>
    `The audit is whole: ${count(entries, 'entry', 'entries')}, the last with the digest ${digest}. Keep both elsewhere to prove later that none is missing at the end.`,
  auditBroken: (entry: number) =>
    `The audit is not whole: entry ${entry} was changed or is missing. Compare it with an earlier export.`,
  userAdded: (account: string, role: string) =>
    `${account} can sign in, with the role ${role}. From now on every call needs a sign-in or a token.`,
  userReset: (account: string, role: string) =>
    `${account} has a new passphrase and the role ${role}. All sessions have ended.`,
  user: (account: string, name: string, role: string, disabled: boolean) =>
    `${account}  ${role}${disabled ? ', disabled' : ''}  ${name}`,
  noArticle:
    'The article cannot be made. State its family in a column “family” or with --family, and use only letters, digits, “.”, “_” and “-” in its code.',
} as const;

/** What `dyeworks check` finds in a data folder. */
export const CHECK_TEXTS = {
  remarks: {
    'damaged-database': 'Damage in the database. Restore the data folder from a backup.',
    'broken-row': 'Rows that refer to missing rows. Restore the data folder from a backup.',
    'broken-json': 'Rows that cannot be read. Restore the data folder from a backup.',
    'broken-audit': 'Entries of the audit that were changed, or follow a missing one. Compare the audit with a backup.',
    'wrong-uses': 'Lists of used finishes that do not match. --mend makes them again.',
    'low-counter': 'Products whose next number was given out already. --mend raises it.',
    'lost-revision': 'Products whose current model is missing. --mend uses the latest one.',
    'wrong-length': 'Files of another length than their row states. Restore the data folder from a backup.',
    'missing-file': 'Missing files. Restore them from a backup, or upload them again.',
    'damaged-file':
      'Damaged files, whose bytes do not match their name. --mend moves them to the folder “damaged”; then upload them again, or restore them from a backup.',
    'damaged-picture': 'Damaged pictures. --mend deletes them; Dyeworks makes them again.',
    'missing-picture': 'Listed pictures without a file. --mend removes them from the list; Dyeworks makes them again.',
    'stray-picture': 'Picture files that are not listed. --mend deletes them.',
    leftover: 'Temporary files that a crash left behind. --mend deletes them, and so does the next start.',
    'unused-file': 'Files that nothing refers to. They are deleted some days after Dyeworks first finds them unused.',
    'foreign-file': 'Files that Dyeworks did not put there. It leaves them alone.',
  },
  heading: (text: string, found: number, mended: number) =>
    `${found}${mended > 0 ? ` (${mended} mended)` : ''}: ${text}`,
  remark: (subject: string, places: readonly string[]) =>
    `  ${subject}${places.length > 0 ? ` (${places.join(', ')})` : ''}`,
  more: (rest: number) => `  and ${rest} more`,
  result: (folder: string, { files, pictures }: { files: number; pictures: number }, left: number, mend: boolean) => {
    const seen = `${folder}: ${count(files, 'file')}, ${count(pictures, 'picture')}`;
    if (left === 0) return `${seen}, in order`;
    return `${seen}, ${count(left, 'fault')} left${mend ? '' : '; --mend corrects what can be corrected'}`;
  },
} as const;

/** Errors in the log of the service. */
export const LOG_TEXTS = {
  notSwept: 'Dyeworks cannot delete unused files:',
  pictureNotStored: 'Dyeworks cannot store a picture, or its time of use:',
  jobNotSaved: 'Dyeworks cannot save a job:',
  mapsNotRead: 'Dyeworks cannot read the colour maps.',
  demoNotFilled: 'Dyeworks cannot fill in the demo.',
} as const;

/** A survey as lines of text, with the slots and the verdict. */
export function formatSurvey(survey: Survey, slots: readonly Slot[], verdict: string): string {
  const { size, counts, bytes, variants, extensions, validator } = survey;
  const sizes = size && [size.widthMm, size.depthMm, size.heightMm].map((mm) => mm.toFixed(1));
  const contents = [
    count(counts.triangles, 'triangle'),
    count(counts.draws, 'draw call'),
    count(counts.materials, 'material'),
    count(counts.images, 'image'),
  ];
  return [
    `Size       ${sizes ? `${sizes.join(' × ')} mm (width × depth × height)` : 'no geometry'}`,
    `File size  ${formatBytes(bytes)}`,
    `Contents   ${contents.join(', ')}`,
    ...(variants.length > 0 ? [`Variants   ${variants.join(', ')}`] : []),
    ...(extensions.used.length > 0 ? [`Extensions ${extensions.used.join(', ')}`] : []),
    `Validator  ${count(validator.errors, 'error')}, ${count(validator.warnings, 'warning')}`,
    `Slots      ${slots.map(({ slot, triangles }) => `${slot} (${count(triangles, 'triangle')})`).join(', ') || 'none'}`,
    `Verdict    ${verdict}`,
  ].join('\n');
}

/** Findings by cause, each with its places, as lines of text. */
export function formatFindings(findings: readonly Finding[]): string[] {
  return groupFindings(findings).flatMap(({ severity, code, where, message, places = [] }) => [
    `  ${severity.padEnd(7)} ${code} (${places.length > 0 ? `${places.length} places` : where}): ${message}`,
    ...places.map((place) => `          ${place.place ?? place.where}`),
  ]);
}
