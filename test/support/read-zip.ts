import { fromBuffer } from 'yauzl';

/** The files of a zip by their names, read with yauzl 3 (MIT), which checks sizes against the central directory. */
export function readZip(archive: Buffer): Promise<Map<string, Buffer>> {
  return new Promise((resolve, reject) => {
    fromBuffer(archive, { lazyEntries: true }, (error, file) => {
      if (error) return reject(error);
      const found = new Map<string, Buffer>();
      file.on('entry', (entry) => {
        file.openReadStream(entry, async (wrong, stream) => {
          if (wrong) return reject(wrong);
          const parts: Buffer[] = [];
          for await (const part of stream) parts.push(part as Buffer);
          found.set(entry.fileName, Buffer.concat(parts));
          file.readEntry();
        });
      });
      file.on('end', () => resolve(found));
      file.readEntry();
    });
  });
}
