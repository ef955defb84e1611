// A photo as it goes up: no wider than it needs to be, upright, and named by the hash of what it holds.
const WIDEST = 1600, MOST_BYTES = 500_000, QUALITIES = [0.82, 0.7, 0.55, 0.4];

async function hex(bytes) {
  const digest = await crypto.subtle.digest("SHA-256", bytes);
  return [...new Uint8Array(digest)].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

/** A JPEG of at most 1600 dots and 500 KB; the file as it is where the browser cannot read it. */
async function shrunk(file) {
  let picture;
  try { picture = await createImageBitmap(file, { imageOrientation: "from-image" }); } catch { return file; }
  try {
    const share = Math.min(1, WIDEST / Math.max(picture.width, picture.height));
    const canvas = Object.assign(document.createElement("canvas"), { width: Math.max(1, Math.round(picture.width * share)), height: Math.max(1, Math.round(picture.height * share)) });
    const pen = canvas.getContext("2d");
    pen.fillStyle = "#fff"; // where a picture lets through, a JPEG would be black
    pen.fillRect(0, 0, canvas.width, canvas.height);
    pen.drawImage(picture, 0, 0, canvas.width, canvas.height);
    let made = null;
    for (const quality of QUALITIES) {
      made = await new Promise((done) => { canvas.toBlob(done, "image/jpeg", quality); });
      if (!made || made.size <= MOST_BYTES) break;
    }
    return made ?? file;
  } finally { picture.close(); }
}

/** {sha256, type, bytes} of a chosen picture, ready to be kept. */
export async function taken(file) {
  const small = await shrunk(file), bytes = await small.arrayBuffer();
  return { sha256: await hex(bytes), type: small.type || "application/octet-stream", bytes };
}

/** The same of a photo read back from a saved file: null when it is not what its name says. */
export async function readBack(sha256, type, bytes) {
  return (await hex(bytes)) === sha256 ? { sha256, type, bytes } : null;
}
