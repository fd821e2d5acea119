/** Why an image cannot be decoded, in words that follow “cannot be decoded:”. */
export const IMAGE_FAULTS = {
  missing: 'its bytes are not in the file',
  unknownFormat: 'its first bytes match no image format of glTF',
  cmyk: 'it is CMYK, which is for print; glTF viewers read RGB and grey',
  betweenChunks: 'it has bytes between its chunks',
  cutChunk: (type: string) => `its ${type} chunk is cut short`,
  checksum: (type: string) => `the checksum of its ${type} chunk is wrong`,
  noEnd: 'it ends before its last chunk',
  data: 'its data are damaged',
  short: 'it ends too early',
  undecodable: 'its data cannot be decoded',
  ktx2: {
    levels: 'its header or its levels are damaged',
    header: 'its header is damaged',
    notBasis: 'it is not Basis Universal, the only kind of KTX2 that glTF allows',
    several: 'it has several images, but a texture has one',
    size: 'its size is zero, or too large to decode',
    tables: 'its tables are damaged',
    level: (level: number) => `its level ${level} is damaged`,
  },
} as const;
