// A report of many pieces can still be sent by mail.
import { statSync } from 'node:fs';

export const title = 'size of the file';

const LIMIT_BYTES = 12e6;

export async function check(report, say) {
  const { size } = statSync(report.file);
  say.notes(`${(size / 1e6).toFixed(2)} MB`);
  if (size >= LIMIT_BYTES)
    say.fails(`${(size / 1e6).toFixed(2)} MB, at most ${LIMIT_BYTES / 1e6} MB are allowed`);
}
