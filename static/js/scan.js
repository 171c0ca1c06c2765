// scan: takes what a hand scanner typed, an address or a bare code, keeps its last segment in
// capitals, and goes to <action>/<CODE>. The check character is the server's business.

const codeOf = (typed) => {
  const path = typed.trim().split(/[?#]/)[0].replace(/\/+$/, '');
  return path.slice(path.lastIndexOf('/') + 1).replace(/[\s-]/g, '').toUpperCase();
};

export default (form) => {
  form.addEventListener('submit', (event) => {
    const code = codeOf(form.querySelector('input').value);
    if (!code) return;
    event.preventDefault();
    location.assign(`${form.getAttribute('action')}/${encodeURIComponent(code)}`);
  });
};
