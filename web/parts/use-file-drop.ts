import { type Signal, useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';

/** Takes a file dropped anywhere on the page; the signal is true while one hovers over it. */
export function useFileDrop(onFile: (file: File) => void): Signal<boolean> {
  const over = useSignal(false);
  useEffect(() => {
    const hover = (event: DragEvent) => {
      if (!event.dataTransfer?.types.includes('Files')) return;
      event.preventDefault();
      event.dataTransfer.dropEffect = 'copy';
      over.value = true;
    };
    const leave = (event: DragEvent) => {
      // leaving one element for another of the page is no leaving
      if (event.relatedTarget === null) over.value = false;
    };
    const drop = (event: DragEvent) => {
      over.value = false;
      const file = event.dataTransfer?.files[0];
      if (!file) return;
      event.preventDefault();
      onFile(file);
    };
    document.addEventListener('dragover', hover);
    document.addEventListener('dragleave', leave);
    document.addEventListener('drop', drop);
    return () => {
      document.removeEventListener('dragover', hover);
      document.removeEventListener('dragleave', leave);
      document.removeEventListener('drop', drop);
    };
  });
  return over;
}
