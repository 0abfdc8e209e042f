package serve

import (
	"bytes"
	"crypto/ed25519"
	"crypto/rand"
	"crypto/rsa"
	"crypto/sha256"
	"encoding/hex"
	"encoding/pem"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"

	"golang.org/x/crypto/ssh"

	"foreshaft/engine/label"
)

// Key is a public key that is admitted.
type Key struct {
	Name string // whose it is, as the file says
	key  ssh.PublicKey
}

// seat names what belongs to the key for good: it does not follow the name. It is
// hexadecimal, so that no word can be found in it by chance.
func (k Key) seat() string {
	sum := sha256.Sum256(k.key.Marshal())
	return hex.EncodeToString(sum[:16])
}

// leastRSA is the shortest RSA key that is admitted, in bits (NIST SP 800-57 part 1, table 2:
// 112 bits of security).
const leastRSA = 2048

// ReadKeys reads the public keys that are admitted, one a line as OpenSSH has them (sshd(8),
// AUTHORIZED_KEYS FILE FORMAT): kind, key, name. What stands there and is not understood is
// an error rather than left out, options in front of a key above all: whoever wrote one
// believes that it holds. So is a file without a key, and one that others may write.
func ReadKeys(path string) ([]Key, error) {
	if err := onlyOurs(path, 0o022, "others may write it, and could let themselves in: chmod go-w "+path); err != nil {
		return nil, err
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, fmt.Errorf("%s cannot be read: %w", path, err)
	}
	var out []Key
	for n, line := range bytes.Split(data, []byte("\n")) {
		line = bytes.TrimSpace(line)
		if len(line) == 0 || line[0] == '#' {
			continue
		}
		key, comment, options, _, err := ssh.ParseAuthorizedKey(line)
		if err == nil {
			err = usable(key, options)
		} else {
			err = errors.New("is no public key; ssh-keygen writes them to files that end with .pub")
		}
		if err != nil {
			return nil, fmt.Errorf("%s: line %d %w", path, n+1, err)
		}
		name := label.Clean(strings.TrimSpace(comment))
		if name == "" {
			name = "key of line " + fmt.Sprint(n+1)
		}
		out = append(out, Key{name, key})
	}
	if len(out) == 0 {
		return nil, fmt.Errorf("%s has no public key: nobody could come in. Add one a line, as ssh-keygen writes it to a file that ends with .pub", path)
	}
	return out, nil
}

// usable says why a key is not admitted.
func usable(key ssh.PublicKey, options []string) error {
	if len(options) > 0 {
		return fmt.Errorf("has the option %q, which would not hold here: no option does. Take it out, or the line", label.Clean(options[0]))
	}
	switch kind := key.Type(); {
	case strings.Contains(kind, "-cert-"):
		return errors.New("is a certificate: put the key itself there")
	case strings.HasPrefix(kind, "ssh-dss"):
		return errors.New("is a DSA key, which is no longer safe: ssh-keygen -t ed25519 makes one that is")
	}
	if wrapped, ok := key.(ssh.CryptoPublicKey); ok {
		if public, ok := wrapped.CryptoPublicKey().(*rsa.PublicKey); ok && public.N.BitLen() < leastRSA {
			return fmt.Errorf("is an RSA key of %d bits, which is too short: ssh-keygen -t ed25519 makes one that is not", public.N.BitLen())
		}
	}
	return nil
}

// onlyOurs refuses a file whose rights are too wide, where the system has such rights.
func onlyOurs(path string, tooWide fs.FileMode, why string) error {
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("there is no file %s%w", path, notThere{})
	case err != nil:
		return err
	case info.IsDir():
		return fmt.Errorf("%s is a folder: name a file", path)
	}
	if runtime.GOOS != "windows" && info.Mode().Perm()&tooWide != 0 {
		return fmt.Errorf("%s is not used: %s", path, why)
	}
	return nil
}

// notThere makes an error one of a file that is not there, without more words.
type notThere struct{}

func (notThere) Error() string        { return "" }
func (notThere) Is(target error) bool { return target == fs.ErrNotExist }

// HostKey reads the key by which terminals know this computer again, and makes one (Ed25519)
// that only the user may read where there is no file. A file that others may read is refused.
func HostKey(path string) (ssh.Signer, error) {
	err := onlyOurs(path, 0o077, "others may read it, and could pass for this computer: chmod 600 "+path)
	if errors.Is(err, fs.ErrNotExist) {
		err = makeHostKey(path)
	}
	if err != nil {
		return nil, err
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	signer, err := ssh.ParsePrivateKey(data)
	var locked *ssh.PassphraseMissingError
	switch {
	case errors.As(err, &locked):
		return nil, fmt.Errorf("%s has a passphrase, which nobody is there to type: name a file of its own, and where there is none a key is made", path)
	case err != nil:
		return nil, fmt.Errorf("%s is no private key that can be used (%w): name a file of its own, and where there is none a key is made", path, err)
	}
	return signer, nil
}

// makeHostKey writes a new key whole or not at all: a key that was cut short would keep the
// program from starting again.
func makeHostKey(path string) error {
	_, private, err := ed25519.GenerateKey(rand.Reader)
	if err != nil {
		return err
	}
	block, err := ssh.MarshalPrivateKey(private, "foreshaft")
	if err != nil {
		return err
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return err
	}
	file, err := os.CreateTemp(filepath.Dir(path), filepath.Base(path)+".*") // 0600
	if err != nil {
		return err
	}
	_, err = file.Write(pem.EncodeToMemory(block))
	if err = errors.Join(err, file.Sync(), file.Close()); err == nil {
		err = os.Rename(file.Name(), path)
	}
	if err != nil {
		return errors.Join(err, os.Remove(file.Name()))
	}
	return nil
}
