const CXF = 'xmlns="http://colorexchangeformat.com/CxF3-core"';
const cgats = (fields: string, data: string, head = '') =>
  `CGATS.17\n${head}BEGIN_DATA_FORMAT\n${fields}\nEND_DATA_FORMAT\nBEGIN_DATA\n${data}\nEND_DATA\n`;
const LAB = 'SAMPLE_ID LAB_L LAB_A LAB_B';

/** Files of measurements made to overflow the stack, to fill the memory, or to take minutes. `size` is their number of parts. */
export const HOSTILE_MEASUREMENTS: Readonly<Record<string, (size: number) => string>> = {
  'one long word': (size) => cgats(LAB, `${'A'.repeat(size * 10)} 50 0 0`),
  'one long quoted word': (size) => cgats(LAB, `"${'A'.repeat(size * 10)}" 50 0 0`),
  'one word of doubled quotes': (size) => cgats(LAB, `"${'""'.repeat(size * 4)}" 50 0 0`),
  'an open quote': (size) => cgats(LAB, `"${'""'.repeat(size * 4)} 50 0 0`),
  'fields on one line': (size) => cgats('nm400 '.repeat(size), 'A 50'),
  'fields on many lines': (size) => cgats('nm400\n'.repeat(size), 'A 50'),
  'words of one set': (size) => cgats(LAB, '5 '.repeat(size * 4)),
  'many sets': (size) => cgats(LAB, 'A 50 0 0\n'.repeat(size)),
  'many keywords': (size) => cgats(LAB, 'A 50 0 0', Array.from({ length: size }, (_, i) => `K${i} 1\n`).join('')),
  'one keyword often': (size) => cgats(LAB, 'A 50 0 0', 'WEIGHTING_FUNCTION "a, b"\n'.repeat(size)),
  'many tables': (size) => cgats(LAB, 'A 50 0 0') + cgats('SAMPLE_ID', 'A').repeat(size / 10),
  'an end of lines': (size) => `CGATS.17${'\n'.repeat(size * 10)}`,
  'a header of commas': (size) => `code,name${','.repeat(size * 10)}\n`,
  'a header of quotes': (size) => `code,name\n"${'""'.repeat(size * 4)}"`,
  'rows of one cell': (size) => `code,name,hex\n${'a\n'.repeat(size)}`,
  'one row of many cells': (size) => `code,name,hex\n${'a,'.repeat(size)}`,
  'separators alone': (size) => ','.repeat(size * 10),
  'spaces alone': (size) => ' '.repeat(size * 10),
  'XML without an end': (size) => `<?xml version="1.0" ${'encoding '.repeat(size)}`,
  'XML of deep elements': (size) => '<a>'.repeat(size) + '</a>'.repeat(size),
  'XML of deep elements without an end': (size) => '<a>'.repeat(size),
  'XML of entities': (size) =>
    `<!DOCTYPE a [${Array.from({ length: 30 }, (_, i) => `<!ENTITY e${i + 1} "&e${i};&e${i};">`)}]><a>${'&e30;'.repeat(size)}</a>`,
  'XML of character references': (size) => `<CxF ${CXF}>${'&#65;'.repeat(size * 2)}</CxF>`,
  'XML of attributes': (size) => `<CxF ${CXF} ${Array.from({ length: size }, (_, i) => `a${i}="1"`).join(' ')}/>`,
  'XML of namespaces': (size) => `<CxF ${CXF} ${Array.from({ length: size }, (_, i) => `xmlns:a${i}="1"`).join(' ')}/>`,
  'XML of one long attribute': (size) => `<CxF ${CXF} a="${'x'.repeat(size * 10)}"/>`,
  'XML of empty elements': (size) => `<CxF ${CXF}>${'<a/>'.repeat(size)}</CxF>`,
  'XML of comments': (size) => `<CxF ${CXF}>${'<!-- a -->'.repeat(size)}</CxF>`,
  'XML of one open comment': (size) => `<CxF ${CXF}><!--${'- '.repeat(size * 4)}`,
  'XML of spaces in a tag': (size) => `<CxF ${CXF}${' '.repeat(size * 10)}`,
  'XML of open tags': (size) => '<'.repeat(size * 10),
  'XML of CDATA': (size) => `<CxF ${CXF}>${'<![CDATA[a]]>'.repeat(size)}</CxF>`,
};
