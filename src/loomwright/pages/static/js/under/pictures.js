// A picture of a thing, made no larger than it is kept at the desk, so that a day of them goes out over a weak signal.

import { addPicture, newId } from "./keep.js";
import { make } from "./making.js";

const LARGEST_PX = 2048;
const QUALITY = 0.85;

export async function keptPicture(job, thing, file) {
  const [sheet, row] = thing.photo;
  const made = new Date().toISOString();
  return addPicture({ id: newId(), job, thing: thing.id, sheet, row, note: thing.does, made, file: await smaller(file) });
}

async function smaller(file) {
  const picture = await createImageBitmap(file).catch(() => null);
  const share = picture ? LARGEST_PX / Math.max(picture.width, picture.height) : 1;
  if (share >= 1) return file;
  const canvas = make("canvas", { width: Math.round(picture.width * share), height: Math.round(picture.height * share) });
  canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
  return new Promise((resolve) => canvas.toBlob((blob) => resolve(blob ?? file), "image/jpeg", QUALITY));
}
