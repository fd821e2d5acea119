import { type Signal, useSignal } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import { MODEL_ENDINGS } from '../api.ts';
import { commonTexts } from '../texts/common.ts';

interface DropLineProps {
  /** Says what dropping a file does. */
  readonly text: string;
  readonly button: string;
  readonly onFile: (file: File) => void;
  /** Accepted file endings, separated by commas. Default: those of models. */
  readonly accept?: string;
}

/** A drop area with a button to choose a file. A drop anywhere on the page counts. */
export function DropLine({ text, button, onFile, accept = MODEL_ENDINGS }: DropLineProps) {
  const field = useRef<HTMLInputElement>(null);
  const over = useFileDrop(onFile);
  return (
    <div class={over.value ? 'drop over' : 'drop'}>
      <p>{over.value ? commonTexts.drop.release : text}</p>
      <button type="button" onClick={() => field.current?.click()}>
        {button}
      </button>
      <input
        ref={field}
        type="file"
        class="unseen"
        tabIndex={-1}
        aria-label={button}
        accept={accept}
        onChange={(event) => {
          const file = event.currentTarget.files?.[0];
          event.currentTarget.value = '';
          if (file) onFile(file);
        }}
      />
    </div>
  );
}

/** Receives a file dropped anywhere on the page. The signal is true while a file hovers over it. */
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
      // moving between elements of the page also fires dragleave
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
