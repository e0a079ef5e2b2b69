"""The odds of a plan: the weekend lived many times, with failures and hours that vary."""
