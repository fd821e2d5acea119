import { type Signal, useSignal } from '@preact/signals';
import type { ComponentChildren } from 'preact';
import { useEffect, useRef } from 'preact/hooks';
import { getErrorMessage, MODEL_ENDINGS } from '../api.ts';
import { commonTexts } from '../texts/common.ts';
import { type DroppedFile, readChosen, readDrop } from './dropped-files.ts';
import { takeFocus } from './form.tsx';
import { packModel } from './pack-model.ts';

interface DropLineProps {
  /** Says what dropping a file does. */
  readonly text: string;
  readonly button: string;
  readonly onFile: (file: File) => void;
  /** Accepted file endings, separated by commas. Default: those of models, of which one may come in several files. */
  readonly accept?: string;
  /** Stands in the drop area: what became of the file. */
  readonly children?: ComponentChildren;
}

/** A drop area with a button to choose a file. A drop anywhere on the page counts. */
export function DropLine({ text, button, onFile, accept, children }: DropLineProps) {
  const field = useRef<HTMLInputElement>(null);
  const problem = useSignal<string | null>(null);
  const packing = useSignal(false);
  const take = async (given: readonly DroppedFile[]) => {
    if (packing.value) return;
    problem.value = null;
    const [first] = given;
    if (accept !== undefined && first) return onFile(first.file);
    packing.value = given.length > 1;
    try {
      onFile(await packModel(given));
    } catch (error) {
      problem.value = getErrorMessage(error);
    } finally {
      packing.value = false;
    }
  };
  const over = useDrop((files) => void take(files));
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
        accept={accept ?? `${MODEL_ENDINGS},.bin,image/*`}
        multiple={accept === undefined}
        onChange={(event) => {
          const files = readChosen(event.currentTarget.files);
          event.currentTarget.value = '';
          if (files.length > 0) void take(files);
        }}
      />
      <div class="drop-outcome" role="status">
        {packing.value && <p>{commonTexts.drop.packing}</p>}
        {problem.value && (
          <p class="notice arrives" ref={takeFocus} tabIndex={-1}>
            {problem.value}
          </p>
        )}
      </div>
      {children}
    </div>
  );
}

/**
 * Receives a model dropped anywhere on the page, as one file. The signal is true while files hover over the page.
 * @param onProblem receives a message for the user when the drop is no model
 */
export function useFileDrop(onFile: (file: File) => void, onProblem?: (message: string) => void): Signal<boolean> {
  return useDrop((files) => {
    packModel(files).then(onFile, (error) => onProblem?.(getErrorMessage(error)));
  });
}

function useDrop(onFiles: (files: readonly DroppedFile[]) => void): Signal<boolean> {
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
      if (!event.dataTransfer?.types.includes('Files')) return;
      event.preventDefault();
      void readDrop(event.dataTransfer).then(onFiles, () => onFiles([]));
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
