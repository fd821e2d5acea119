import { Problem } from '../problems.ts';
import { PICTURE_SET_PROBLEMS } from '../texts/problems/picture-set.ts';

/**
 * Bytes of a file name with its ending. File systems take 255; archives, shops and mail programs less, and what they cut
 * off is what tells names apart.
 */
export const FILE_NAME_BYTES = 120;

/** Letters that do not come apart into a plain one and a mark. */
const LETTERS: Readonly<Record<string, string>> = {
  ß: 'ss',
  ẞ: 'SS',
  æ: 'ae',
  Æ: 'AE',
  œ: 'oe',
  Œ: 'OE',
  ø: 'o',
  Ø: 'O',
  ð: 'd',
  Ð: 'D',
  đ: 'd',
  Đ: 'D',
  þ: 'th',
  Þ: 'Th',
  ł: 'l',
  Ł: 'L',
  ħ: 'h',
  Ħ: 'H',
  ı: 'i',
};

/** Names of devices that Windows keeps for itself, whatever ending follows (Naming Files, Paths, and Namespaces). */
const DEVICES = /^(con|prn|aux|nul|com\d|lpt\d)$/i;

/**
 * Text as a part of a file name that every system and archive takes: letters without their marks, figures, dot,
 * underscore and hyphen; a run of anything else becomes one hyphen. Empty where nothing is left.
 * @example toFilePart('Hocker, groß № 2') // 'Hocker-gross-No-2'
 */
export function toFilePart(text: string): string {
  return text
    .normalize('NFC')
    .replace(/[^\x20-\x7e]/g, (letter) => LETTERS[letter] ?? letter)
    .normalize('NFKD')
    .replace(/\p{M}/gu, '')
    .replace(/[^A-Za-z0-9._-]+/g, '-')
    .replace(/^-+|-+$/g, '');
}

/**
 * A file's name: safe characters, no dot or hyphen before it, none but the ending's dot after it, no name of a device.
 * @param ending without its dot
 * @throws Problem `file-name-empty`, `file-name-too-long`
 */
export function toFileName(text: string, ending: string): string {
  const stem = toFilePart(text)
    // a dot in front hides a file, a hyphen makes it an option of a command
    .replace(/^[.-]+/, '')
    .replace(/[.-]+$/, '');
  if (!/[A-Za-z0-9]/.test(stem)) {
    throw new Problem('file-name-empty', {
      detail: PICTURE_SET_PROBLEMS['file-name-empty'](text.slice(0, 80)),
      expected: 'letters or figures',
      received: text.slice(0, 80),
    });
  }
  const name = `${DEVICES.test(stem.split('.')[0]!) ? '_' : ''}${stem}.${ending}`;
  // nothing but ASCII is left: a character is a byte
  if (name.length > FILE_NAME_BYTES) {
    throw new Problem('file-name-too-long', {
      detail: PICTURE_SET_PROBLEMS['file-name-too-long'](name.slice(0, 60), name.length, FILE_NAME_BYTES),
      expected: `${FILE_NAME_BYTES} characters at most`,
      received: name.length,
    });
  }
  return name;
}

export interface NameCollision<T> {
  /** As the first of the two has it. */
  readonly name: string;
  readonly items: readonly [T, T];
}

/** Items whose names are the same where case does not count, each with the first that has its name. */
export function listCollisions<T>(items: readonly T[], nameOf: (item: T) => string): NameCollision<T>[] {
  const first = new Map<string, T>();
  return items.flatMap((item) => {
    const key = nameOf(item).toLowerCase();
    const known = first.get(key);
    if (known !== undefined) return [{ name: nameOf(known), items: [known, item] as const }];
    first.set(key, item);
    return [];
  });
}
