package post

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"
)

// The signature of Standard Webhooks: HMAC-SHA256 over "id.seconds.body".

const (
	secretPrefix = "whsec_"
	secretLeast  = 24 // bytes; the standard's own bounds
	secretMost   = 64
)

// Sign returns the value of the header webhook-signature: one signature for each
// secret, so that a receiver who has either goes on while it is being changed.
func Sign(id string, at time.Time, body []byte, secrets ...string) (string, error) {
	if len(secrets) == 0 {
		return "", errors.New("sign event: no secret")
	}
	var all []string
	for _, s := range secrets {
		key, err := parseSecret(s)
		if err != nil {
			return "", fmt.Errorf("sign event: %w", err)
		}
		mac := hmac.New(sha256.New, key)
		fmt.Fprintf(mac, "%s.%d.", id, at.Unix())
		mac.Write(body)
		all = append(all, "v1,"+base64.StdEncoding.EncodeToString(mac.Sum(nil)))
	}
	return strings.Join(all, " "), nil
}

// NewSecret makes a secret to be shared with a webhook, of 32 random bytes.
func NewSecret(random io.Reader) (string, error) {
	var key [32]byte
	if _, err := io.ReadFull(random, key[:]); err != nil {
		return "", fmt.Errorf("make secret: %w", err)
	}
	return secretPrefix + base64.StdEncoding.EncodeToString(key[:]), nil
}

// parseSecret says nothing of what the secret is: its errors go to the log.
func parseSecret(s string) ([]byte, error) {
	text, ok := strings.CutPrefix(s, secretPrefix)
	key, err := base64.StdEncoding.DecodeString(text)
	if !ok || err != nil || len(key) < secretLeast || len(key) > secretMost {
		return nil, errors.New("parse secret: not one of Standard Webhooks")
	}
	return key, nil
}
