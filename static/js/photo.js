// photo: shows the photograph that was taken and puts a smaller one in its place, at most 1600 px
// on its longer side. The camera's file stays as it is wherever any step fails. box.shrunk is
// kept when it is done, for who stores the form; sending the plain way never waits for it.

const longest = 1600;

const shrink = async (file, canvas) => {
  const image = await createImageBitmap(file, { imageOrientation: 'from-image' });
  const scale = Math.min(1, longest / Math.max(image.width, image.height));
  canvas.width = Math.round(image.width * scale);
  canvas.height = Math.round(image.height * scale);
  canvas.getContext('2d').drawImage(image, 0, 0, canvas.width, canvas.height);
  image.close();
  return new Promise((done) => canvas.toBlob(done, 'image/jpeg', 0.85));
};

const replace = (input, blob) => {
  const files = new DataTransfer();
  files.items.add(new File([blob], 'photo.jpg', { type: 'image/jpeg' }));
  input.files = files.files;
};

export default (box) => {
  const canvas = box.querySelector('canvas');
  const done = box.querySelector('[data-done]');
  const inputs = [...box.querySelectorAll('input')];

  const take = async (input) => {
    const file = input.files[0];
    if (!file) return;
    for (const other of inputs) if (other !== input) other.value = '';
    try {
      const blob = await shrink(file, canvas);
      canvas.hidden = false;
      const current = input.files[0] === file;
      if (current && blob && blob.size < file.size) replace(input, blob);
    } catch {
      canvas.hidden = true;
    }
    done.hidden = false; // last: nothing moves on the page after it says "ready"
  };

  for (const input of inputs) input.addEventListener('change', () => { box.shrunk = take(input); });
};
