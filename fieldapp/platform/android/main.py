"""What python-for-android runs: it must lie at the top of the packaged folder, where ``stage.sh`` puts it."""

from fieldapp.platform.android.start import main

if __name__ == "__main__":
    main()
